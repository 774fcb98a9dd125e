/* All parts of the bench use these tools: elements, numbers, announcements, the look of a line, storage. */

/* make("p", {class: "note"}, "text", element, ...). Texts become text nodes, so that no foreign text is read as HTML. */
export function make(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value !== null && value !== undefined && value !== false) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

export function button(text, onPress, attributes) {
  const element = make("button", {type: "button", ...attributes}, text);
  element.addEventListener("click", onPress);
  return element;
}

/* Make a labelled choice; entries are [value, text]. */
export function choice(id, label, entries, onChange) {
  const select = make("select", {id});
  fillChoice(select, entries);
  select.addEventListener("change", () => onChange(select.value));
  return {select, element: make("label", {for: id, class: "choice"}, label, " ", select)};
}

/* Replace the entries; the value that was chosen stays when it is among the new ones. */
export function fillChoice(select, entries) {
  const before = select.value;
  select.replaceChildren(...entries.map(([value, text]) => make("option", {value}, text)));
  if (entries.some(([value]) => value === before)) select.value = before;
}

/* ---- numbers ---- */

/* Write four digits, without an exponent between 0.001 and a million. */
export function numberText(value, digits = 4) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "not reached";
  const rounded = Number(value.toPrecision(digits));
  const size = Math.abs(rounded);
  return size !== 0 && (size < 1e-3 || size >= 1e6) ? rounded.toExponential() : String(rounded);
}

export const withUnit = (value, unit, digits = 4) =>
  unit && unit !== "-" ? `${numberText(value, digits)}\u00a0${unit}` : numberText(value, digits);

/* A figure without unit whose name holds strain, share or the like is a fraction, which people read as per cent. */
const perCent = /strain|plateau_end|_end$|density|fraction|share|drop|efficiency|instant_set/;
export function figureScale(figure) {
  const fraction = (!figure.unit || figure.unit === "-") && perCent.test(figure.id);
  return fraction ? {factor: 100, unit: "%"} : {factor: 1, unit: figure.unit === "-" ? "" : figure.unit || ""};
}

/* "18 %" is {number: 18, unit: "%"}; null when the text is no number. */
export function numberOf(text) {
  const found = /^\s*([-+]?[\d.]+(?:e[-+]?\d+)?)\s*(.*?)\s*$/i.exec(String(text ?? ""));
  return found && Number.isFinite(Number(found[1])) ? {number: Number(found[1]), unit: found[2]} : null;
}

export function secondsText(seconds) {
  if (!Number.isFinite(seconds)) return "";
  if (seconds < 1) return "less than 1 s";
  return seconds < 120 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;
}

export const wordsOf = (key) => key.split(".").slice(1).join(": ").replaceAll("_", " ");

/* "force_25" is "force at 25 %", "plateau_stress_20_30" is "plateau stress, 20 to 30 %". */
export const figureWords = (id) => id.replace(/_(\d\d)_(\d\d)$/, ", $1 to $2 %").replace(/_(\d\d)$/, " at $1 %").replaceAll("_", " ");

/* Keep a number and its unit on one line. */
export const unbroken = (text) => String(text).replace(/(\d) (?=\S)/g, "$1\u00a0");

/* ---- curves ---- */

/* Interpolate straight between the points [x, y] of one curve; null outside. */
export function valueAt(points, x) {
  const last = points.length - 1;
  if (last < 1 || x < points[0][0] || x > points[last][0]) return null;
  let low = 0, high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (points[middle][0] <= x) low = middle; else high = middle;
  }
  const [[x0, y0], [x1, y1]] = [points[low], points[high]];
  return x1 > x0 ? y0 + (x - x0) / (x1 - x0) * (y1 - y0) : y0;
}

/* Find the height of a chart that shows plateaus: forces of densified coupons rise far above them and would flatten the rest. */
export function plateauHeight(curves) {
  let height = 0, highest = 0;
  for (const points of curves) {
    const end = points.length ? points[points.length - 1][0] : 0;
    for (const [x, y] of points) {
      if (x < 0.5 * end) height = Math.max(height, y);
      highest = Math.max(highest, y);
    }
  }
  return Math.min(1.05 * highest, 2.5 * height) || 1;
}

/* ---- speech, storage, theme ---- */

export function say(text) {
  document.getElementById("said").textContent = text;
}

export function trouble(text) {
  const line = document.getElementById("trouble");
  line.textContent = text || "";
  line.hidden = !text;
}

/* Storage may be switched off: the bench then works without remembering. */
export function remember(name, value) {
  try { localStorage.setItem(`bench.${name}`, JSON.stringify(value)); } catch { /* forgotten */ }
}

export function recall(name, otherwise) {
  try { return JSON.parse(localStorage.getItem(`bench.${name}`)) ?? otherwise; } catch { return otherwise; }
}

export const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/* Canvases are drawn again in the colours of the other theme, as long as their element lives. */
const themed = new Set();
export function onThemeChange(element, draw) {
  element.drawAgain = draw;
  themed.add(new WeakRef(element));
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
  for (const one of themed) {
    if (one.deref()) one.deref().drawAgain(); else themed.delete(one);
  }
});

/* Call `run` once there has been no further call for `wait` ms. */
export function quietly(wait, run) {
  let timer = 0;
  return (...values) => {
    clearTimeout(timer);
    timer = setTimeout(() => run(...values), wait);
  };
}

/* ---- the look of patterns and densities ---- */

export const dashes = [[], [9, 4], [2, 3], [10, 3, 2, 3], [5, 2, 5, 6]];
export const dashWords = ["solid", "dashed", "dotted", "dash and dot", "pairs"];
const colours = 7;

/* Choose colour and marker by pattern and the dash by density: each density has its own dash, or a band of densities where there are many. */
export function looksOf(coupons) {
  const patterns = [...new Set(coupons.map((coupon) => coupon.pattern))].sort();
  const densities = [...new Set(coupons.map((coupon) => Math.round(1000 * coupon.density) / 10))].sort((a, b) => a - b);
  const bands = Math.min(dashes.length, densities.length);
  const bandOf = (density) => {
    const at = densities.indexOf(Math.round(1000 * density) / 10);
    return Math.min(bands - 1, Math.floor(at * bands / densities.length));
  };
  const bandText = (band) => {
    const inside = densities.filter((density, i) => Math.floor(i * bands / densities.length) === band);
    const [low, high] = [inside[0], inside[inside.length - 1]];
    return low === high ? `${low} %` : `${low} to ${high} %`;
  };
  return {
    patterns, bands: Array.from({length: bands}, (_, band) => bandText(band)),
    of: (coupon) => {
      const place = Math.max(0, patterns.indexOf(coupon.pattern)), band = Math.max(0, bandOf(coupon.density));
      return {colour: `--line-${place % colours}`, marker: place % colours, band, dash: dashes[band]};
    },
    ofPattern: (name) => ({colour: `--line-${patterns.indexOf(name) % colours}`, marker: patterns.indexOf(name) % colours}),
  };
}
