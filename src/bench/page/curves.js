/* Charts: uPlot makes the axes and places; lines and marks are drawn here, so that hundreds of curves stay quick. */
import {make, colour, numberText, onThemeChange, say, valueAt} from "./tools.js";
import {inFrames} from "./frames.js";

const near = 24; /* px: a curve nearer to the pointer than this is read */

const markCost = 24; /* points of a curve that are drawn as quickly as one mark */

/* Marks differ in shape, so that people can tell them apart without their colour: number of corners, turn of the first in degrees, size. */
const markers = [[24, 0, 1], [4, 45, 1.35], [3, -90, 1.3], [4, 0, 1.3], [3, 90, 1.3], [6, 0, 1.2], [5, -90, 1.25]];

/* Return the corners [x, y] of a mark of the size r about 0, 0. */
function markerCorners(marker, r) {
  const [corners, turn, size] = markers[marker % markers.length];
  return Array.from({length: corners}, (_, i) => {
    const angle = (turn + 360 * i / corners) * Math.PI / 180;
    return [size * r * Math.cos(angle), size * r * Math.sin(angle)];
  });
}

/* Make a short piece of a line, a mark, or both, for a legend. */
export function swatch({colour: name, dash, marker, width = 2.5}) {
  const element = (tag, attributes) => {
    const one = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
    return one;
  };
  const picture = element("svg", {viewBox: "0 0 34 12", class: "swatch", "aria-hidden": "true"});
  if (dash) {
    const line = element("path", {d: "M1 6H33", "stroke-width": width, "stroke-dasharray": dash.join(" "), fill: "none"});
    line.style.stroke = `var(${name})`;
    picture.append(line);
  }
  if (marker !== undefined) {
    const shape = element("path", {d: `M${markerCorners(marker, 4.5).map(([x, y]) => `${(17 + x).toFixed(2)} ${(6 + y).toFixed(2)}`).join("L")}Z`});
    shape.style.fill = `var(${name})`;
    picture.append(shape);
  }
  return picture;
}

export class Chart {
  /* `label` is read by screen readers; onRead({item, x, y}) when the pointer is near an item, onRead(null) when not. */
  constructor(box, {label, height = 340, onRead, onPick}) {
    this.box = box;
    this.height = height;
    this.items = [];
    this.names = {x: "", y: ""};
    this.most = {x: 1, y: 1, left: 0, low: 0};
    this.onRead = onRead;
    box.classList.add("chart");
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", label);
    const axis = (side, size) => ({
      stroke: () => colour("--ink"), size, labelSize: 22, label: " ", font: "13px system-ui, sans-serif", labelFont: "13px system-ui, sans-serif",
      grid: {stroke: () => colour("--grid"), width: 1}, ticks: {stroke: () => colour("--grid"), width: 1},
      values: (plot, ticks) => ticks.map((tick) => numberText(tick)),
    });
    this.plot = new uPlot({
      width: this.width(), height, legend: {show: false}, padding: [12, 16, 0, 0],
      scales: {x: {time: false, range: () => [this.most.left, this.most.x]}, y: {range: () => [this.most.low, this.most.y]}},
      axes: [axis("x", 34), axis("y", 58)],
      cursor: {drag: {x: false, y: false, setScale: false}, points: {show: false}, y: false},
      series: [{}, {show: true, stroke: "transparent", points: {show: false}, paths: () => null}],
      /* uPlot draws its axes a moment after the call: only then the places are right. */
      hooks: {setCursor: [(plot) => this.read(plot)], draw: [() => this.paint()]},
    }, [[0, 1], [0, 1]], box);
    this.line = make("div", {class: "chart-line", hidden: true});
    this.sheet = make("canvas", {class: "sheet", "aria-hidden": "true"});
    this.plot.over.append(this.sheet, this.line);
    this.onPick = onPick;
    if (onPick) this.plot.over.addEventListener("click", () => this.found && onPick(this.found.item));
    if (onRead) this.takeKeys(label);
    new ResizeObserver(() => this.fit()).observe(box);
    onThemeChange(box, () => this.plot.redraw(false, true));
  }

  width() {
    return Math.max(220, Math.floor(this.box.clientWidth));
  }

  fit() {
    if (this.box.clientWidth > 0 && this.width() !== this.plot.width) {
      this.plot.setSize({width: this.width(), height: this.height});
    }
  }

  /* `items`: {points: [[x, y], ...], spread ([[x, low, high], ...], drawn as a pale band), colour, dash, width, faint, marker (one mark a point instead of a line), size} */
  show(items, names, most) {
    this.items = items;
    this.most = {left: 0, low: 0, x: 1, y: 1, ...most};
    const [x, y] = this.plot.axes;
    x.label = names.x;
    y.label = names.y;
    this.plot.setData([[0, 1], [0, 1]], true);
    this.plot.redraw(true, true);
  }

  /* Draw a line across the chart at one x or one y; null removes it. */
  mark(where) {
    this.marked = where;
    this.line.hidden = !where;
    if (!where) return;
    const upright = where.x !== undefined, {fx, fy, x0, y0} = this.places();
    this.line.classList.toggle("upright", upright);
    this.line.style.left = upright ? `${x0 + fx * where.x}px` : "0";
    this.line.style.top = upright ? "0" : `${y0 - fy * where.y}px`;
    this.line.hidden = upright ? where.x > this.most.x : where.y > this.most.y;
  }

  /* Return the factors from values to CSS pixels of the field between the axes. */
  places() {
    const {x, y, left, low} = this.most, {clientWidth: wide, clientHeight: high} = this.plot.over;
    const fx = wide / (x - left || 1), fy = high / (y - low || 1);
    return {fx, fy, x0: -left * fx, y0: high + low * fy};
  }

  paint() {
    if (!this.sheet) return;
    inFrames(this, this.strokes());
    if (this.marked) this.mark(this.marked);
    if (this.hand) this.keepHand();
  }

  /* Clear the sheet, then draw item after item. */
  *strokes() {
    const {clientWidth: wide, clientHeight: high} = this.plot.over, ratio = Math.min(2, devicePixelRatio || 1);
    if (!wide || !high) return;
    this.sheet.width = Math.round(wide * ratio);
    this.sheet.height = Math.round(high * ratio);
    const ink = this.sheet.getContext("2d");
    ink.setTransform(ratio, 0, 0, ratio, 0, 0);
    ink.lineJoin = "round";
    this.sheet.dataset.spreads = "0";
    const place = {ink, known: new Map(), ...this.places()};
    let drawn = 0;
    for (const item of this.items) {
      this.drawItem(place, item);
      this.sheet.dataset.drawn = String(++drawn);
      yield item.points.length * (item.marker === undefined ? 1 : markCost) + 2 * (item.spread?.length || 0);
    }
  }

  drawItem({ink, known, fx, fy, x0, y0}, item) {
    if (!known.has(item.colour)) known.set(item.colour, colour(item.colour));
    ink.globalAlpha = item.faint ? 0.55 : 1;
    ink.strokeStyle = ink.fillStyle = known.get(item.colour);
    if (item.spread?.length > 1) {
      this.drawSpread(ink, item, fx, fy, x0, y0);
      this.sheet.dataset.spreads = String(Number(this.sheet.dataset.spreads) + 1);
    }
    ink.setLineDash(item.dash && item.marker === undefined ? item.dash : []);
    if (item.marker === undefined) {
      ink.lineWidth = item.width || 2;
      ink.beginPath();
      for (const [x, y] of item.points) ink.lineTo(x0 + fx * x, y0 - fy * y);
      ink.stroke();
      return;
    }
    const corners = markerCorners(item.marker, item.size || 5);
    for (const [x, y] of item.points) {
      ink.beginPath();
      for (const [right, down] of corners) ink.lineTo(x0 + fx * x + right, y0 - fy * y + down);
      ink.closePath();
      ink.fill();
      if (item.ring) {
        ink.strokeStyle = colour("--ink");
        ink.lineWidth = 2;
        ink.stroke();
      }
    }
  }

  /* Draw a band of places [x, low, high], pale in the colour of the line that runs through it. */
  drawSpread(ink, item, fx, fy, x0, y0) {
    ink.globalAlpha = 0.25;
    ink.beginPath();
    for (const [x, , high] of item.spread) ink.lineTo(x0 + fx * x, y0 - fy * high);
    for (const [x, low] of [...item.spread].reverse()) ink.lineTo(x0 + fx * x, y0 - fy * low);
    ink.closePath();
    ink.fill();
    ink.globalAlpha = item.faint ? 0.55 : 1;
  }

  /* ---- the chart without a pointer ---- */

  takeKeys(label) {
    const {over} = this.plot, press = this.onPick ? ", Enter puts it side by side with others or takes it away" : "";
    this.ring = make("div", {class: "chart-point", hidden: true});
    over.append(this.ring);
    over.tabIndex = 0;
    over.setAttribute("role", "application");
    over.setAttribute("aria-label", `${label}: arrow keys go from point to point and read it off${press}.`);
    over.addEventListener("keydown", (event) => this.key(event));
    over.addEventListener("pointermove", () => this.leaveKeys());
    over.addEventListener("blur", () => {
      this.leaveKeys();
      this.onRead(null);
    });
  }

  key(event) {
    const go = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1], Home: [-Infinity, 0], End: [Infinity, 0]}[event.key];
    const pick = event.key === "Enter" || event.key === " ";
    if (event.ctrlKey || event.altKey || event.metaKey || !(go || pick) || !this.items.length) return;
    event.preventDefault();
    this.keepHand();
    if (pick && this.hand) {
      this.onPick?.(this.hand.item);
      return;
    }
    if (this.hand) this.hand = this.beyond(this.hand, ...(go || [0, 0]));
    else {
      const item = this.items[this.items.length - 1];
      this.hand = {item, at: item.points.length >> 1};
    }
    this.point();
    say(this.onRead(this.found) || "");
  }

  /* The items may have been made again since the keys reached one of them. */
  keepHand() {
    if (!this.hand) return;
    const {item, at} = this.hand, here = this.items.find((one) => one === item || (one.key && one.key === item.key));
    if (!here) {
      this.leaveKeys();
      return;
    }
    this.hand = {item: here, at: Math.min(at, here.points.length - 1)};
    this.point();
  }

  /* Go to the point to the left, to the right, above or below: a curve is followed along its points and left for the next one up or
     down; marks are one each. */
  beyond(hand, right, up) {
    const {item, at} = hand, [x, y] = item.points[at];
    if (right && item.marker === undefined) return {item, at: Math.max(0, Math.min(item.points.length - 1, at + right))};
    let best = {item, at}, least = Infinity, same = false;
    for (const other of this.items) {
      if (other === item) same = true;
      const height = other.marker === undefined ? valueAt(other.points, x) : other.points[0][1];
      if (other === item || height === null) continue;
      /* points at one place follow each other in the order of the items */
      const ahead = right ? right * (other.points[0][0] - x) : up * (height - y), way = right || up;
      if (ahead < 0 || (ahead === 0 && (way > 0) !== same)) continue;
      const off = Number.isFinite(right) ? ahead : -Math.abs(other.points[0][0] - x);
      if (off < least || (off === least && way < 0)) {
        least = off;
        best = {item: other, at: other.marker === undefined ? this.nearestPoint(other.points, x) : 0};
      }
    }
    return best;
  }

  nearestPoint(points, x) {
    let best = 0;
    points.forEach(([one], i) => { if (Math.abs(one - x) < Math.abs(points[best][0] - x)) best = i; });
    return best;
  }

  /* Draw a ring round the point that the keys have reached. */
  point() {
    const {item, at} = this.hand, [x, y] = item.points[at], {fx, fy, x0, y0} = this.places();
    this.found = {item, x, y};
    this.ring.hidden = false;
    this.ring.style.left = `${x0 + fx * x}px`;
    this.ring.style.top = `${Math.max(0, y0 - fy * y)}px`;
  }

  leaveKeys() {
    this.hand = null;
    if (this.ring) this.ring.hidden = true;
  }

  /* Find the item nearest to the pointer. */
  read(plot) {
    if (!this.onRead || this.hand) return;
    const {left, top} = plot.cursor;
    this.found = null;
    if (left >= 0 && top >= 0) {
      const {fx, fy, x0, y0} = this.places();
      let best = near * near;
      for (const item of this.items) {
        const {points} = item;
        for (let i = 0; i < points.length; i++) {
          const across = x0 + fx * points[i][0] - left;
          if (across > near || across < -near) continue;
          const off = across ** 2 + (y0 - fy * points[i][1] - top) ** 2;
          if (off < best) {
            best = off;
            this.found = {item, x: points[i][0], y: points[i][1]};
          }
        }
      }
    }
    this.onRead(this.found);
  }
}
