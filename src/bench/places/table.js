/* This is the table of chosen figures: a click on a head sorts it, and one page of rows is shown at a time. */
import {make, button, figureScale, figureWords, numberText, say, unbroken} from "./tools.js";
import {inFrames} from "./frames.js";
import {swatch} from "./curves.js";

const rowsMost = 40; /* rows that stand in the page at once */
const rowCost = 300; /* points of a curve that are drawn as quickly as a row is made and placed */

export class Table {
  /* `shelf` knows the coupons, the figures and which coupons are on the bench. */
  constructor(shelf, mostOnBench) {
    this.shelf = shelf;
    this.mostOnBench = mostOnBench;
    this.sort = {by: "name", up: true};
    this.first = 0;
    this.table = make("table", {id: "shelf-table"}, make("thead", {}, make("tr", {})), make("tbody"));
    this.pages = make("div", {class: "controls"});
    this.pick = make("div", {class: "ticks"});
    const argument = make("input", {type: "text", id: "figure-more", placeholder: "force_at 6 mm", autocomplete: "off"});
    this.element = make("section", {class: "far", "aria-labelledby": "table-heading"}, make("h3", {id: "table-heading"}, "Figures"),
      make("details", {}, make("summary", {}, "Which figures"), this.pick,
        make("div", {class: "controls"}, make("label", {for: "figure-more"}, "One with a place of its own ", argument),
          button("Add", () => shelf.addFigure(argument.value.trim())))),
      make("div", {class: "scroll", tabindex: "0", role: "region", "aria-label": "table of pressed coupons"}, this.table), this.pages);
  }

  /* Show the coupons in their order, from the first row on. */
  show(coupons) {
    this.coupons = coupons;
    this.first = 0;
    this.order();
  }

  order() {
    const {by, up} = this.sort;
    const keyOf = (coupon) => by === "name" ? coupon.rank : by === "density" ? coupon.density : coupon.figures[by] ?? null;
    this.coupons.sort((a, b) => {
      const [p, q] = [keyOf(a), keyOf(b)];
      if (p === null || q === null) return (p === null) - (q === null);
      return (up ? 1 : -1) * (p - q);
    });
    this.fill();
  }

  fill() {
    const {shelf} = this;
    const columns = [{id: "name", head: "coupon"}, {id: "density", head: "density", unit: "%"},
      ...shelf.figures.map((id) => ({id, head: figureWords(id), unit: figureScale(shelf.figure(id)).unit, doc: shelf.figure(id).help}))];
    this.table.tHead.rows[0].replaceChildren(make("th", {scope: "col"}, "bench"), ...columns.map((column) => this.head(column)));
    const shown = this.coupons.slice(this.first, this.first + rowsMost);
    inFrames(this, this.rows(shown));
    const more = this.coupons.length > rowsMost;
    this.pages.replaceChildren(...(more ? [button("Rows before", () => this.turnPage(-1), {disabled: this.first === 0}),
      make("span", {class: "note"}, `rows ${this.first + 1} to ${this.first + shown.length} of ${this.coupons.length}`),
      button("Rows after", () => this.turnPage(1), {disabled: this.first + rowsMost >= this.coupons.length})] : []));
  }

  /* Replace row after row; the focus stays on its coupon. */
  *rows(shown) {
    const body = this.table.tBodies[0], focused = body.contains(document.activeElement) ? document.activeElement : null;
    const key = focused?.closest("tr").dataset.row;
    for (let i = 0; i < shown.length; i++) {
      const row = this.row(shown[i]);
      if (body.rows[i]) body.rows[i].replaceWith(row); else body.append(row);
      if (focused && row.dataset.row === key) row.querySelector(focused.localName).focus({preventScroll: true});
      yield rowCost;
    }
    while (body.rows.length > shown.length) body.lastElementChild.remove();
  }

  /* Mark the coupons that are side by side. */
  mark() {
    const {shelf} = this;
    for (const row of this.table.tBodies[0].rows) {
      const on = shelf.onBench.includes(row.dataset.row), tick = row.querySelector("input");
      row.classList.toggle("on", on);
      tick.checked = on;
      tick.disabled = !on && shelf.onBench.length >= this.mostOnBench;
    }
  }

  turnPage(way) {
    this.first += way * rowsMost;
    this.fill();
    say(this.pages.querySelector("span").textContent);
  }

  head(column) {
    const {by, up} = this.sort, sorted = by === column.id;
    const press = button(column.head, () => {
      this.sort = {by: column.id, up: sorted ? !up : true};
      this.first = 0;
      this.order();
      this.table.querySelector(`[data-sort="${CSS.escape(column.id)}"]`).focus();
      say(`sorted by ${column.head}, ${this.sort.up ? "smallest" : "largest"} first`);
    }, {"data-sort": column.id, title: column.doc});
    press.append(make("span", {class: "arrow", "aria-hidden": "true"}));
    if (column.unit) press.append(make("small", {class: "unit"}, ` ${column.unit}`));
    return make("th", {scope: "col", "aria-sort": sorted ? up ? "ascending" : "descending" : "none"}, press);
  }

  row(coupon) {
    const {shelf} = this, on = shelf.onBench.includes(coupon.key);
    const tick = make("input", {type: "checkbox", "aria-label": `${coupon.name} side by side`});
    tick.checked = on;
    tick.disabled = !on && shelf.onBench.length >= this.mostOnBench;
    tick.addEventListener("change", () => shelf.put(coupon.key, tick.checked));
    return make("tr", {class: on ? "on" : null, "data-row": coupon.key}, make("td", {}, tick),
      make("th", {scope: "row"}, swatch(coupon.look), " ", make("a", {href: `#shelf/${coupon.key}`}, unbroken(coupon.name)),
        coupon.seeds?.length > 1 ? make("small", {class: "ends"}, `median of ${coupon.seeds.length} seeds`) : null),
      make("td", {class: "number"}, numberText(100 * coupon.density, 3)),
      shelf.figures.map((id) => {
        const value = coupon.figures[id], scale = figureScale(shelf.figure(id));
        return value === null || value === undefined ? make("td", {class: "none"}, coupon.reason?.[id] || "not reached")
          : make("td", {class: "number"}, numberText(scale.factor * value), shelf.endsText(coupon, id) ? make("small", {class: "ends"}, unbroken(shelf.endsText(coupon, id))) : null);
      }));
  }

  /* Make the list of figures to tick; those with an argument come last. */
  offer(all) {
    const {shelf} = this, plain = all.filter((figure) => !figure.argument);
    const own = shelf.figures.filter((id) => !plain.some((figure) => figure.id === id)).map((id) => ({id, label: id}));
    this.pick.replaceChildren(...[...plain, ...own].map((figure) => {
      const tick = make("input", {type: "checkbox", "data-figure": figure.id});
      tick.checked = shelf.figures.includes(figure.id);
      tick.addEventListener("change", async () => {
        await shelf.setFigures(tick.checked ? [...shelf.figures, figure.id] : shelf.figures.filter((id) => id !== figure.id));
        this.pick.querySelector(`[data-figure="${CSS.escape(figure.id)}"]`)?.focus();
      });
      return make("label", {title: figure.help || null}, tick, " ", figureWords(figure.id));
    }));
  }
}
