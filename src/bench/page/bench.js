/* This file starts the page: it asks the server what it knows, makes the places of the bench, and passes messages between them. */
import * as talk from "./talk.js";
import {make, trouble} from "./tools.js";
import {Form} from "./form.js";
import {Press} from "./press.js";
import {Shelf} from "./shelf.js";
import {Between} from "./between.js";
import {Choose} from "./choose.js";

const places = [["coupon", "Coupon"], ["press", "Under the platen"], ["shelf", "Shelf"], ["between", "Between"], ["choose", "Choose"]];

/* All parts share this object; through `pressed` and `shelfChanged` one part tells the others what has changed. */
const bench = {
  pressed: () => bench.shelf?.ask(),
  shelfChanged: () => {
    bench.between?.changed();
    bench.shelf?.select(bench.shelf.wanted);
    if (bench.shelf) bench.shelf.wanted = null;
  },
  count: (active) => {
    const badge = document.getElementById("busy");
    badge.textContent = active ? ` ${active}` : "";
    badge.setAttribute("aria-label", active ? `${active} at work` : "");
    badge.hidden = !active;
  },
};

/* The address says which place is shown: #press/7 shows press number 7. */
function show(focus) {
  const [name, rest] = location.hash.slice(1).split("/");
  const place = places.find(([id]) => id === name)?.[0] || "coupon";
  for (const section of document.querySelectorAll("[data-view]")) section.hidden = section.dataset.view !== place;
  for (const link of document.querySelectorAll("#places a")) {
    if (link.dataset.place === place) link.setAttribute("aria-current", "page"); else link.removeAttribute("aria-current");
  }
  document.title = `${places.find(([id]) => id === place)[1]} - bench`;
  if (focus) {
    document.getElementById(`${place}-heading`).focus({preventScroll: true});
    scrollTo(0, 0);
  }
  if (place === "press") bench.press?.select(rest ? Number(rest) : null);
  if (place === "shelf") {
    bench.shelf?.narrow();
    bench.shelf?.select(rest);
  }
  if (place === "between") bench.between?.changed();
}

async function start() {
  const list = make("ul", {}, places.map(([id, words]) => make("li", {}, make("a", {href: `#${id}`, "data-place": id}, words,
    id === "press" ? make("span", {id: "busy", class: "busy", role: "img", hidden: true}) : null))));
  document.getElementById("places").append(list);
  let known;
  try {
    known = await talk.rows();
  } catch (error) {
    trouble(error.message);
    return;
  }
  Object.assign(bench, {rows: known.rows, figures: known.figures, patterns: known.patterns});
  document.getElementById("safety").textContent = known.safety;
  const section = (name) => document.querySelector(`[data-view="${name}"]`);
  bench.form = new Form(section("coupon"), bench);
  bench.shelf = new Shelf(section("shelf"), bench);
  bench.between = new Between(section("between"), bench);
  bench.choose = new Choose(section("choose"), bench);
  bench.press = new Press(section("press"), bench);
  addEventListener("hashchange", () => show(true));
  show(false);
  document.body.dataset.ready = "yes";
}

start();
