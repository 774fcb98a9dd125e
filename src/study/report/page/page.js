"use strict";
/* Build the page, follow its width and its theme, and prepare it for paper. */

const paperWidth = 660, paperMode = 240; /* px: of charts and of modes */

function settingsTable(caption, settings) {
  const body = make("tbody");
  for (const one of settings) body.append(make("tr", {}, make("th", {scope: "row"}, one.key), make("td", {}, one.value)));
  return make("table", {class: "plain"}, make("caption", {}, caption), body);
}

/* Return the name of each coupon; the names of a store already hold the settings in which its coupons differ. */
function couponTable(data) {
  const named = data.source === "store";
  const heads = ["coupon", ...(named ? [] : ["what differs"]), "flaw seed", "version", "hash of the resolved case"];
  const body = make("tbody");
  for (const row of data.rows) {
    const own = row.settings.map((one) => `${one.key} ${one.value}`).join(", ");
    body.append(make("tr", {}, make("th", {scope: "row"}, unbroken(row.label)), named ? null : make("td", {}, unbroken(own)),
      make("td", {}, row.seed ? String(row.seed) : "no flaws"), make("td", {}, row.version),
      make("td", {}, make("code", {}, row.hash))));
  }
  const head = make("tr", {}, ...heads.map((text) => make("th", {scope: "col"}, text)));
  return make("div", {class: "scroll", tabindex: "0", role: "region", "aria-label": "what the coupons are known by"},
    make("table", {class: "plain"}, make("thead", {}, head), body));
}

function drawSettings(section, data) {
  section.append(data.settings.length
    ? settingsTable("The same in all coupons, and not the default", data.settings)
    : make("p", {}, "Nothing that is the same in all coupons differs from the defaults."),
  make("h3", {}, "Coupons"),
  make("p", {class: "note"}, "Flaw seed and hash are those of the curve that is drawn."), couponTable(data),
  make("h3", {}, "Program"),
  make("p", {}, `strutpress ${data.program.version}; made from ${data.source === "store" ? "a store" : "case files"}; drawn states pressed `,
    `on ${data.program.threads} thread${data.program.threads > 1 ? "s" : ""} (figures do not depend on their number).`),
  make("p", {class: "build"}, data.program.build),
  make("details", {}, make("summary", {}, "Charts: uPlot (MIT licence)"),
    make("pre", {}, document.getElementById("chart-licence").textContent.trim())));
}

/* Write each line once, with the coupons to which it applies; lines that differ only in their numbers are written together. */
function drawCautions(section, data) {
  const said = new Map(); /* by the line without its numbers */
  const say = (line, row) => {
    const kind = line.replace(/[-+]?\d+([.]\d+)?(e[-+]?\d+)?/g, "#");
    const one = said.get(kind) || {line, others: 0, labels: []};
    one.others += one.line !== line ? 1 : 0;
    if (!one.labels.includes(row.label)) one.labels.push(row.label);
    said.set(kind, one);
  };
  for (const row of data.rows) {
    row.cautions.forEach((line) => say(line, row));
    if (row.failed) say(row.failed === row.seeds ? "No seed gave a result." : "Some seeds gave no result.", row);
  }
  for (const row of data.rows) if (row.stop) say(`Stopped: ${row.stop}.`, row);
  const list = make("dl", {class: "coupons"});
  for (const {line, others, labels} of said.values()) {
    const all = labels.length === data.rows.length && labels.length > 1;
    list.append(make("dt", {}, line, others ? make("small", {}, ` (and ${others} alike, with other numbers)`) : null), make("dd", {}, all ? "all coupons" : labels.map(unbroken).join("; ")));
  }
  section.append(make("p", {class: "caution"}, data.safety), list);
}

function drawParts(nav) {
  for (const section of document.querySelectorAll("main > section")) {
    nav.append(make("a", {href: `#${section.id}`}, section.querySelector("h2").textContent));
  }
}

/* ---- paper ---- */

function preparePaper(states) {
  document.documentElement.classList.add("paper");
  for (const one of states) {
    one.drawStrip();
    if (one.mode) one.drawMode(paperMode);
  }
  fitCharts(paperWidth);
}

function leavePaper(states) {
  document.documentElement.classList.remove("paper");
  for (const one of states) one.redraw();
  fitCharts();
}

function start() {
  const data = JSON.parse(document.getElementById("data").textContent);
  const section = (id) => document.getElementById(id);
  document.title = data.title;
  section("title").textContent = data.title;
  section("question-text").textContent = data.question;
  section("safety").textContent = data.safety;
  drawParts(section("parts"));
  drawTable(section("table"), data);
  drawRanking(section("table"), data);
  new Curves(section("curves"), data);
  new Scatter(section("curves"), data);
  const states = data.states.map((state, i) => new States(section("states"), data, state, i));
  if (!states.length) section("states").append(make("p", {}, "No states are drawn."));
  drawSettings(section("settings"), data);
  drawCautions(section("cautions"), data);
  let wait = 0;
  window.addEventListener("resize", () => {
    cancelAnimationFrame(wait);
    wait = requestAnimationFrame(() => fitCharts());
  });
  const redraw = () => {
    fitCharts();
    for (const one of states) one.redraw();
  };
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  window.addEventListener("beforeprint", () => preparePaper(states));
  window.addEventListener("afterprint", () => leavePaper(states));
  fitCharts();
}

start();
