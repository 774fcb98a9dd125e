/* This place has one key on a slider: pressed coupons that differ in that key alone, and between two of them an interpolated curve. */
import * as talk from "./talk.js";
import {make, button, choice, fillChoice, figureScale, figureWords, numberOf, numberText, say, trouble, unbroken, valueAt, withUnit,
  wordsOf} from "./tools.js";
import {Chart, swatch} from "./curves.js";

const stops = 200; /* places of the slider */
const points = 81; /* of an interpolated curve */
const same = 1e-6; /* share of the range within which a place counts as pressed */

export class Between {
  constructor(section, bench) {
    this.bench = bench;
    this.section = section;
    this.build(section);
  }

  build(section) {
    this.none = make("p", {}, "Here a slider runs through coupons that differ in one number alone, such as their density. Two such coupons on the ",
      make("a", {href: "#shelf"}, "shelf"), " are enough.");
    this.key = choice("between-key", "Slide", [], () => this.fillRows());
    this.family = choice("between-family", "of", [], () => this.start());
    this.slider = make("input", {type: "range", id: "between-slider", min: "0", max: String(stops), step: "1", value: String(stops / 2)});
    this.slider.addEventListener("input", () => this.slide());
    this.marks = make("div", {class: "marks", "aria-hidden": "true"});
    this.said = make("p", {class: "now", id: "between-said"});
    this.chartPlace = make("div", {id: "between-chart"});
    this.legend = make("ul", {class: "row-legend"});
    this.table = make("table", {class: "plain"}, make("thead"), make("tbody"));
    this.go = button("Press this", () => this.press(), {class: "main", id: "between-press"});
    this.full = make("div", {hidden: true}, make("div", {class: "controls"}, this.key.element, this.family.element),
      make("div", {class: "slide"}, make("label", {for: "between-slider", id: "between-label"}, "value"), make("div", {class: "track"}, this.slider, this.marks)),
      this.said, make("div", {class: "controls"}, this.go), make("div", {class: "two even"}, make("div", {}, this.chartPlace, this.legend),
        make("div", {class: "scroll", tabindex: "0", role: "region", "aria-label": "figures at this place"}, this.table)));
    section.append(this.none, this.full);
  }

  /* ---- families of coupons that differ in one key ---- */

  get shelf() {
    return this.bench.shelf;
  }

  /* The place is drawn when it is shown: coupons may come while other places are shown. */
  changed() {
    if (this.section.hidden) return;
    const keys = this.shelf.varied.filter((key) => this.families(key).length);
    this.none.hidden = keys.length > 0;
    this.full.hidden = keys.length === 0;
    if (!keys.length) return;
    keys.sort((a, b) => (b === "infill.density") - (a === "infill.density"));
    fillChoice(this.key.select, keys.map((key) => [key, wordsOf(key)]));
    this.fillRows();
  }

  families(key) {
    const all = new Map();
    for (const coupon of this.shelf.coupons) {
      const place = numberOf(coupon.settings[key]);
      if (!place || !coupon.curve?.length) continue;
      const others = Object.entries(coupon.settings).filter(([name]) => name !== key).sort();
      const name = JSON.stringify(others);
      if (!all.has(name)) all.set(name, {name, words: others.map(([one, value]) => `${wordsOf(one)} ${value}`).join(", ") || coupon.pattern, unit: place.unit, coupons: []});
      const {coupons, unit} = all.get(name);
      if (place.unit === unit && !coupons.some((one) => one.place === place.number)) coupons.push({place: place.number, coupon});
    }
    const found = [...all.values()].filter(({coupons}) => coupons.length > 1);
    for (const {coupons} of found) coupons.sort((a, b) => a.place - b.place);
    return found.sort((a, b) => b.coupons.length - a.coupons.length);
  }

  fillRows() {
    this.all = this.families(this.key.select.value);
    fillChoice(this.family.select, this.all.map(({name, words}) => [name, words]));
    this.start();
  }

  start() {
    const family = this.all.find(({name}) => name === this.family.select.value) || this.all[0];
    const fresh = this.one?.name !== family.name;
    this.one = family;
    const places = family.coupons.map(({place}) => place);
    [this.low, this.high] = [places[0], places[places.length - 1]];
    document.getElementById("between-label").textContent = wordsOf(this.key.select.value);
    this.marks.replaceChildren(...places.map((place) => {
      const mark = make("span", {});
      mark.style.left = `${100 * (place - this.low) / (this.high - this.low)}%`;
      return mark;
    }));
    if (fresh) this.slider.value = String(Math.round(stops * 0.5));
    this.slide();
  }

  /* ---- one place ---- */

  slide() {
    const range = this.high - this.low, exact = this.low + this.slider.value / stops * range;
    const {coupons, unit} = this.one;
    /* a pressed place within one stop is that place */
    const pressed = coupons.find(({place}) => Math.abs(place - exact) <= 0.5 * range / stops + same * range);
    this.place = pressed ? pressed.place : Number(exact.toPrecision(4));
    const below = pressed || coupons.filter(({place}) => place < this.place).pop();
    const above = pressed || coupons.find(({place}) => place > this.place);
    const text = (place) => `${numberText(place)}${unit ? ` ${unit}` : ""}`;
    const words = pressed ? `${text(this.place)}: pressed` : `${text(this.place)}: interpolated between ${text(below.place)} and ${text(above.place)}`;
    this.said.textContent = unbroken(words);
    this.said.classList.toggle("between", !pressed);
    this.slider.setAttribute("aria-valuetext", words);
    this.go.hidden = Boolean(pressed);
    this.go.textContent = `Press this: ${text(this.place)}`;
    this.draw(below, above, Boolean(pressed));
  }

  share(below, above) {
    return above.place > below.place ? (this.place - below.place) / (above.place - below.place) : 0;
  }

  /* Interpolate forces straight between those of both neighbours at equal strain, as far as both were pressed. */
  curve(below, above, share) {
    const [one, other] = [below, above].map(({coupon}) => coupon.curve.map(([x, y]) => [100 * x / coupon.height_mm, y]));
    const end = Math.min(one[one.length - 1][0], other[other.length - 1][0]);
    return Array.from({length: points}, (_, i) => {
      const x = end * i / (points - 1), y0 = valueAt(one, x), y1 = valueAt(other, x);
      return y0 === null || y1 === null ? null : [x, y0 + share * (y1 - y0)];
    }).filter(Boolean);
  }

  draw(below, above, pressed) {
    this.chart ||= new Chart(this.chartPlace, {label: "force over strain at this place of the slider", height: 340});
    const share = this.share(below, above);
    const items = this.one.coupons.map(({coupon}) => ({points: coupon.curve.map(([x, y]) => [100 * x / coupon.height_mm, y]), colour: "--soft", width: 1.2,
      faint: coupon !== below.coupon && coupon !== above.coupon}));
    const line = pressed ? {points: items[this.one.coupons.indexOf(below)].points, colour: "--line-0", width: 3.5, dash: []}
      : {points: this.curve(below, above, share), colour: "--line-1", width: 3.5, dash: [8, 5]};
    items.push(line);
    const all = items.map((item) => item.points);
    let height = 0, right = 0;
    for (const list of all) {
      const end = list[list.length - 1][0];
      right = Math.max(right, end);
      for (const [x, y] of list) if (x < 0.7 * end) height = Math.max(height, y);
    }
    this.chart.show(items, {x: "strain [%]", y: "force [N]"}, {x: 1.02 * right, y: 1.5 * height || 1});
    this.legend.replaceChildren(make("li", {}, swatch({colour: line.colour, dash: line.dash}), pressed ? " pressed" : " interpolated, not pressed"),
      make("li", {}, swatch({colour: "--soft", dash: [], width: 1.5}), " its pressed neighbours"));
    this.fillTable(below, above, share, pressed);
  }

  fillTable(below, above, share, pressed) {
    const {shelf} = this, unit = this.one.unit ? ` ${this.one.unit}` : "";
    const heads = pressed ? ["figure", `${numberText(below.place)}${unit}`]
      : ["figure", `${numberText(below.place)}${unit}`, `${numberText(this.place)}${unit}, interpolated`, `${numberText(above.place)}${unit}`];
    this.table.tHead.replaceChildren(make("tr", {}, heads.map((head) => make("th", {scope: "col"}, unbroken(head)))));
    this.table.tBodies[0].replaceChildren(...shelf.figures.map((id) => {
      const cells = [shelf.figureText(below.coupon, id)];
      if (!pressed) {
        const p = below.coupon.figures[id], q = above.coupon.figures[id], scale = figureScale(shelf.figure(id));
        const known = typeof p === "number" && typeof q === "number";
        cells.push(known ? withUnit(scale.factor * (p + share * (q - p)), scale.unit, 3) : "not known", shelf.figureText(above.coupon, id));
      }
      return make("tr", {}, make("th", {scope: "row"}, figureWords(id)), cells.map((text) => make("td", {}, text)));
    }));
  }

  async press() {
    const {coupons, unit} = this.one, key = this.key.select.value;
    try {
      const {values} = await talk.coupon(coupons[0].coupon.key);
      const text = `${this.place}${unit ? ` ${unit}` : ""}`;
      const {id} = await talk.press({...values, [key]: text}, `${coupons[0].coupon.pattern}, ${wordsOf(key)} ${text}`);
      say(`${wordsOf(key)} ${text} waits to be pressed.`);
      location.hash = `#press/${id}`;
    } catch (error) {
      trouble(error.message);
    }
  }
}
