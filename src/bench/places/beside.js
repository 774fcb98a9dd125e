/* This place shows states of several coupons side by side, all at one strain or all at one force. */
import * as talk from "./talk.js";
import {make, choice, numberText, recall, remember, trouble, unbroken} from "./tools.js";
import {Drawing, boundsOf, isFlat} from "./drawing.js";

const stops = 100; /* places of the slider */

export class Beside {
  constructor(box, shelf) {
    this.box = box;
    this.shelf = shelf;
    this.panels = new Map();
    this.mode = choice("beside-mode", "All at one", [["strain", "strain"], ["force", "force"]], () => this.slide());
    this.mode.select.value = recall("besideMode", "strain");
    this.slider = make("input", {type: "range", id: "beside-slider", min: "0", max: String(stops), step: "1", value: "40"});
    this.said = make("output", {for: "beside-slider", id: "beside-said"});
    this.slider.addEventListener("input", () => this.slide());
    this.none = make("p", {class: "note"}, "Tick coupons in the table, or press on a curve, to see them side by side.");
    this.controls = make("div", {class: "controls", hidden: true}, this.mode.element,
      make("label", {for: "beside-slider", class: "wide"}, "how far they are pressed ", this.slider), this.said);
    this.row = make("div", {class: "shelfboard"});
    box.append(this.none, this.controls, this.row);
  }

  show(coupons) {
    this.coupons = coupons;
    this.none.hidden = coupons.length > 0;
    this.controls.hidden = coupons.length === 0;
    for (const [key, panel] of this.panels) {
      if (coupons.some((coupon) => coupon.key === key)) continue;
      panel.element.remove();
      this.panels.delete(key);
    }
    for (const coupon of coupons) if (!this.panels.has(coupon.key)) this.add(coupon);
    this.slide();
  }

  add(coupon) {
    const picture = make("div", {class: "picture"}), said = make("p", {class: "note"}, " ");
    const words = make("p", {class: "words"});
    const away = make("button", {type: "button", "aria-label": `Take ${coupon.name} away`}, "Take away");
    away.addEventListener("click", () => this.shelf.put(coupon.key, false));
    const links = make("p", {class: "links"}, make("a", {href: talk.meshLink(coupon.key, "3mf"), download: true}, "Mesh (3MF)"), " ",
      make("a", {href: talk.meshLink(coupon.key, "stl"), download: true}, "Mesh (STL)"));
    const form = make("button", {type: "button", "aria-label": `Put ${coupon.name} on the form`}, "On the form");
    const element = make("figure", {}, make("figcaption", {}, unbroken(coupon.name)), make("div", {class: "board"}, picture), said, words,
      make("div", {class: "controls"}, form, away), links);
    const panel = {element, said, coupon, cache: new Map(), drawing: new Drawing(picture, coupon.name)};
    form.addEventListener("click", () => this.onForm(panel));
    this.panels.set(coupon.key, panel);
    this.row.append(element);
    talk.coupon(coupon.key).then((whole) => {
      panel.whole = whole;
      words.textContent = unbroken(whole.in_words || "");
    }, (error) => { words.textContent = error.message; });
  }

  async onForm(panel) {
    panel.whole ||= await talk.coupon(panel.coupon.key);
    this.shelf.bench.form.setValues(panel.whole.values);
    location.hash = "#coupon";
  }

  /* Return the largest strain or force that any of the coupons reaches. */
  end() {
    const force = this.mode.select.value === "force";
    let end = 0;
    for (const {curve, height_mm: height} of this.coupons) {
      for (const [x, y] of curve || []) end = Math.max(end, force ? y : x / height);
    }
    return end;
  }

  slide() {
    if (!this.coupons?.length) return;
    remember("besideMode", this.mode.select.value);
    const force = this.mode.select.value === "force";
    /* forces grow steeply towards the end: the square leaves room for the plateaus */
    const share = this.slider.value / stops;
    this.value = this.end() * (force ? share ** 2 : share);
    const words = force ? `${numberText(this.value, 3)} N` : `${numberText(100 * this.value, 3)} % strain`;
    this.said.textContent = unbroken(words);
    this.slider.setAttribute("aria-valuetext", words);
    this.mark();
    for (const panel of this.panels.values()) this.fetch(panel);
  }

  /* Mark the same place in the chart of curves. */
  mark() {
    const {chart, over} = this.shelf;
    if (!chart) return;
    if (!this.coupons?.length || this.value === undefined) chart.mark(null);
    else if (this.mode.select.value === "force") chart.mark({y: this.value});
    else if (over.select.value === "strain") chart.mark({x: 100 * this.value});
    else chart.mark(null);
  }

  /* A coupon that another program pressed has no states here until the bench presses it. */
  again(panel) {
    const press = make("button", {type: "button", "aria-label": `Press ${panel.coupon.name} here`}, "Press it here");
    press.addEventListener("click", async () => {
      try {
        panel.whole ||= await talk.coupon(panel.coupon.key);
        const {id} = await talk.press(panel.whole.values, panel.coupon.name);
        location.hash = `#press/${id}`;
      } catch (error) {
        trouble(error.message);
      }
    });
    return press;
  }

  /* Ask one question at a time for each panel; after the answer, ask for the newest place. */
  async fetch(panel) {
    const place = `${this.mode.select.value}=${this.value.toPrecision(6)}`;
    if (panel.cache.has(place)) {
      this.draw(panel, panel.cache.get(place));
      return;
    }
    if (panel.busy) {
      panel.again = true;
      return;
    }
    panel.busy = true;
    try {
      const [mode, value] = place.split("=");
      const state = await talk.stateAt(panel.coupon.key, mode, value);
      panel.cache.set(place, state);
      this.draw(panel, state);
    } catch (error) {
      panel.said.textContent = `${error.message} `;
      panel.element.classList.toggle("stateless", !panel.cache.size);
      if (error.status === 404) panel.said.append(this.again(panel));
    }
    panel.busy = false;
    if (panel.again) {
      panel.again = false;
      this.fetch(panel);
    }
  }

  draw(panel, state) {
    panel.element.classList.remove("stateless");
    panel.size ||= state.size_mm || boundsOf(state.lines);
    panel.size[1] = panel.coupon.height_mm || panel.size[1];
    const words = `${numberText(100 * state.strain, 3)} % strain, ${numberText(state.shortening_mm, 3)} mm, ${numberText(state.force_N, 3)} N`;
    panel.said.textContent = unbroken(words);
    panel.drawing.show({kind: state.kind || (isFlat(state.lines) ? "planar" : "spatial"), size_mm: panel.size, lines: state.lines,
      shortening_mm: state.shortening_mm}, `${panel.coupon.name} at ${words}`);
  }
}
