"use strict";
/* Puts the page together, follows its width and its theme, and gets it ready for paper. */

const paperWidth = 660; /* px of an A4 page between its margins */

function settingsTable(caption, settings) {
  const body = make("tbody");
  for (const one of settings) body.append(make("tr", {}, make("th", {scope: "row"}, one.key), make("td", {}, one.value)));
  return make("table", {class: "plain"}, make("caption", {}, caption), body);
}

/* What differs between the coupons, and by what each of them is known. */
function couponList(data) {
  const list = make("dl", {class: "coupons"});
  for (const row of data.rows) {
    const own = row.settings.map((one) => `${one.key} ${one.value}`).join(", ");
    list.append(make("dt", {}, row.label), make("dd", {}, own ? `${own}; ` : "",
      row.seed ? `flaw seed ${row.seed}` : "no flaws", `; strutpress ${row.version}; case `, make("code", {}, row.hash)));
  }
  return list;
}

function drawSettings(section, data) {
  section.append(data.settings.length
    ? settingsTable("The same in all coupons, and not the default", data.settings)
    : make("p", {}, "Nothing that is the same in all coupons differs from the defaults."),
  make("h3", {}, "Coupons"),
  make("p", {class: "note"}, "What differs between them; the flaw seed, the version and the hash of the resolved case of the ",
    "curve that is drawn."), couponList(data),
  make("h3", {}, "Program"),
  make("p", {}, `strutpress ${data.program.version}; made from ${data.source === "store" ? "a store" : "case files"}; drawn states pressed `,
    `on ${data.program.threads} thread${data.program.threads > 1 ? "s" : ""} (figures do not depend on their number).`),
  make("p", {class: "build"}, data.program.build),
  make("details", {}, make("summary", {}, "Charts: uPlot (MIT licence)"),
    make("pre", {}, document.getElementById("chart-licence").textContent.trim())));
}

function drawCautions(section, data) {
  section.append(make("p", {class: "caution"}, data.safety));
  const list = make("dl", {class: "coupons"});
  for (const row of data.rows) {
    const lines = row.cautions.map((line) => make("dd", {}, line));
    if (row.stop) lines.push(make("dd", {}, `Stopped: ${row.stop}.`));
    if (row.failed) lines.push(make("dd", {}, `${row.failed} of ${row.seeds} seeds failed.`));
    if (lines.length) list.append(make("dt", {}, row.label), ...lines);
  }
  section.append(list);
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
    if (one.mode) one.drawMode(420);
  }
  fitCharts(paperWidth);
}

function leavePaper(states) {
  document.documentElement.classList.remove("paper");
  for (const one of states) if (one.mode) one.drawMode();
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
  const states = data.states.map((state, i) => new States(section("states"), data, state, i));
  if (!states.length) section("states").append(make("p", {}, "No states were asked for."));
  drawSettings(section("settings"), data);
  drawCautions(section("cautions"), data);
  let wait = 0;
  window.addEventListener("resize", () => {
    cancelAnimationFrame(wait);
    wait = requestAnimationFrame(() => fitCharts());
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => fitCharts());
  window.addEventListener("beforeprint", () => preparePaper(states));
  window.addEventListener("afterprint", () => leavePaper(states));
  fitCharts();
}

start();
