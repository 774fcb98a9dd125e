/* The shelf shows the pressed coupons of the store in the folder, their curves, figures and measured curves beside them. */
import * as talk from "./talk.js";
import {make, button, choice, fillChoice, dashWords, figureScale, figureWords, looksOf, numberText, plateauHeight, quietly, recall, remember, say,
  trouble, unbroken, withUnit} from "./tools.js";
import {inFrames, pointsMost} from "./frames.js";
import {Chart, swatch} from "./curves.js";
import {Beside} from "./beside.js";
import {Table} from "./table.js";

const usualFigures = ["mass", "force_25", "plateau_stress", "plateau_end", "initial_stiffness", "energy_per_volume_50"];
const names = new Intl.Collator("en", {numeric: true}); /* "9 %" before "10 %" */
const benchMost = 6; /* coupons side by side */
const lookPause = 8000; /* ms: other programs may press into the store, too */

export class Shelf {
  constructor(section, bench) {
    this.bench = bench;
    this.coupons = [];
    this.varied = [];
    this.measured = [];
    this.onBench = recall("onBench", []);
    this.stale = new Set();
    this.figures = recall("figures", null) || usualFigures.filter((id) => bench.figures.some((one) => one.id === id));
    this.build(section);
    this.ask = talk.repeat(() => this.turn());
    this.ask();
  }

  /* ---- making ---- */

  build(section) {
    this.empty = make("p", {}, "The shelf is empty. ", make("a", {href: "#coupon"}, "Describe a coupon"), " and press it; a batch into the store of this ",
      "folder brings coupons here, too.");
    this.filter = make("input", {type: "search", id: "shelf-filter", placeholder: "square force_25>30", autocomplete: "off", "aria-describedby": "filter-help"});
    this.filter.addEventListener("input", quietly(80, () => this.narrow()));
    this.count = make("span", {class: "note", id: "shelf-count"});
    const filterLine = make("div", {class: "controls"}, make("label", {for: "shelf-filter"}, "Keep in sight ", this.filter), this.count,
      make("a", {href: talk.reportLink(), target: "_blank", rel: "noopener", class: "step"}, "Report of the folder"));
    const help = make("p", {class: "note", id: "filter-help"}, "Words of name, pattern and settings; figure or setting with > or < and a number, in the unit of its column.");
    this.table = new Table(this, benchMost);
    this.full = make("div", {}, filterLine, help, make("div", {class: "charts"}, this.curveBox(), this.scatterBox()), this.besideBox(), this.table.element);
    section.append(this.empty, this.full);
    this.full.hidden = true;
    this.beside = new Beside(this.besidePlace, this);
    this.dropTarget(section);
  }

  curveBox() {
    this.over = choice("curve-over", "Along", [["strain", "strain [%]"], ["mm", "shortening [mm]"]], () => this.drawCurves());
    this.top = choice("curve-top", "Height", [["plateau", "around the plateaus"], ["whole", "whole curves"]], () => this.drawCurves());
    this.file = make("input", {type: "file", id: "measured-file", class: "unseen", tabindex: "-1", "aria-label": "file of a measured curve"});
    this.file.addEventListener("change", () => this.measure([...this.file.files]));
    const pick = button("Lay a measured curve beside", () => this.file.click(), {class: "pick", title: "a file of a test rig; it can be dropped on the page, too"});
    this.chartPlace = make("div", {id: "shelf-chart"});
    this.readout = make("p", {class: "note", id: "curve-readout"}, " ");
    this.legend = make("div", {class: "legend", id: "shelf-legend"});
    this.measuredList = make("ul", {class: "measured", "aria-label": "measured curves"});
    return make("section", {"aria-labelledby": "curves-heading"}, make("h3", {id: "curves-heading"}, "Curves"),
      make("div", {class: "controls"}, this.over.element, this.top.element, pick, this.file), this.chartPlace, this.readout, this.legend, this.measuredList);
  }

  besideBox() {
    this.besidePlace = make("div", {});
    return make("section", {"aria-labelledby": "beside-heading"}, make("h3", {id: "beside-heading", tabindex: "-1"}, "Side by side"), this.besidePlace);
  }

  scatterBox() {
    this.scatterX = choice("scatter-x", "Across", [], () => this.drawScatter());
    this.scatterY = choice("scatter-y", "Up", [], () => this.drawScatter());
    this.scatterPlace = make("div", {id: "scatter"});
    this.scatterRead = make("p", {class: "note", id: "scatter-readout"}, " ");
    return make("section", {"aria-labelledby": "scatter-heading"}, make("h3", {id: "scatter-heading"}, "Two figures"),
      make("div", {class: "controls"}, this.scatterX.element, this.scatterY.element), this.scatterPlace, this.scatterRead);
  }

  dropTarget(section) {
    const over = (event) => {
      if (![...event.dataTransfer.types].includes("Files")) return;
      event.preventDefault();
      section.classList.toggle("dropping", event.type === "dragover");
    };
    for (const name of ["dragover", "dragleave"]) document.addEventListener(name, over);
    document.addEventListener("drop", (event) => {
      if (!event.dataTransfer.files.length) return;
      event.preventDefault();
      section.classList.remove("dropping");
      location.hash = "#shelf";
      this.measure([...event.dataTransfer.files]);
    });
  }

  /* ---- from the server ---- */

  async turn() {
    try {
      const answer = await talk.shelf(this.figures, this.known);
      if (answer.unchanged) return lookPause;
      this.known = answer.state;
      const signature = JSON.stringify([answer.coupons.map((coupon) => coupon.keys || coupon.key), this.figures]);
      if (signature !== this.signature) {
        this.signature = signature;
        this.take(answer);
      }
    } catch (error) {
      trouble(error.message);
    }
    return lookPause;
  }

  take({coupons, varied}) {
    this.coupons = coupons;
    this.varied = varied;
    this.looks = looksOf(coupons);
    for (const coupon of coupons) {
      coupon.look = this.looks.of(coupon);
      coupon.words = `${coupon.name} ${coupon.pattern} ${Object.entries(coupon.settings).flat().join(" ")}`.toLowerCase();
    }
    [...coupons].sort((a, b) => names.compare(a.name, b.name)).forEach((coupon, rank) => { coupon.rank = rank; });
    /* a coupon is also found by the keys of its other seeds */
    const shown = (key) => coupons.find((coupon) => coupon.key === key || coupon.keys?.includes(key))?.key;
    this.onBench = [...new Set(this.onBench.map(shown).filter(Boolean))];
    this.empty.hidden = coupons.length > 0;
    this.full.hidden = coupons.length === 0;
    this.fillFigures();
    this.narrow();
    this.changedBench();
    this.bench.shelfChanged();
  }

  /* ---- filter and order ---- */

  fits(coupon, words) {
    return words.every((word) => {
      const found = /^(.+?)(>=|<=|>|<)([-\d.]+)$/.exec(word);
      if (!found) return coupon.words.includes(word);
      const value = this.valueFor(coupon, found[1]), limit = Number(found[3]);
      if (value === null) return false;
      return {">": value > limit, "<": value < limit, ">=": value >= limit, "<=": value <= limit}[found[2]];
    });
  }

  /* Return a figure in the unit of its column, the density in per cent, or the number of a setting. */
  valueFor(coupon, name) {
    if (name === "density") return 100 * coupon.density;
    const figure = this.figure(name);
    if (coupon.figures[name] !== undefined) return coupon.figures[name] === null ? null : figureScale(figure).factor * coupon.figures[name];
    const key = this.varied.find((one) => one === name || one.endsWith(`.${name}`));
    const number = key ? parseFloat(coupon.settings[key]) : NaN;
    return Number.isFinite(number) ? number : null;
  }

  figure(id) {
    return this.bench.figures.find((one) => one.id === id) || this.bench.figures.map((one) => ({...one, id})).find((one) => id.startsWith(`${one.label} `)) ||
      {...(this.bench.figures.find((one) => id.startsWith(`${one.id} `)) || {label: id, unit: ""}), id};
  }

  narrow() {
    const words = this.filter.value.toLowerCase().split(/\s+/).filter(Boolean);
    this.inSight = this.coupons.filter((coupon) => this.fits(coupon, words));
    this.count.textContent = `${this.inSight.length} of ${this.coupons.length} coupons in sight`;
    this.redraw("drawTable", "drawCurves", "drawScatter");
  }

  /* Draw the parts of the shelf again, each in a frame of its own. */
  redraw(...parts) {
    for (const part of parts) this.stale.add(part);
    inFrames(this, this.parts());
  }

  *parts() {
    for (const part of this.stale) {
      this.stale.delete(part);
      this[part]();
      yield pointsMost;
    }
  }

  drawTable() {
    this.table.show(this.inSight);
  }

  /* ---- figures ---- */

  fillFigures() {
    this.table.offer(this.bench.figures);
    const entries = [["density", "density [%]"], ...this.figures.map((id) => [id, `${figureWords(id)} [${figureScale(this.figure(id)).unit || "-"}]`])];
    const fresh = !this.scatterX.select.options.length;
    fillChoice(this.scatterX.select, entries);
    fillChoice(this.scatterY.select, entries);
    if (fresh) {
      this.scatterX.select.value = entries[Math.min(1, entries.length - 1)][0];
      this.scatterY.select.value = entries[Math.min(2, entries.length - 1)][0];
    }
  }

  addFigure(id) {
    if (id && !this.figures.includes(id)) this.setFigures([...this.figures, id]);
  }

  async setFigures(figures) {
    const before = this.figures;
    try {
      this.figures = figures;
      const answer = await talk.shelf(figures);
      this.known = answer.state;
      this.take(answer);
      remember("figures", figures);
      trouble("");
    } catch (error) {
      this.figures = before;
      trouble(error.message);
    }
  }

  /* ---- curves and scatter ---- */

  /* Return the lowest and the highest force of the seeds along the curve, as [x, low, high]. */
  spread(coupon) {
    return (coupon.band || []).map(([low, high], i) => [this.points(coupon)[i][0], low, high]);
  }

  /* Return the points [strain in %, N] or [mm, N] of one coupon, which are made once. */
  points(coupon) {
    const along = this.over.select.value;
    coupon.points ||= {};
    coupon.points[along] ||= along === "mm" ? coupon.curve || []
      : (coupon.curve || []).map(([x, force]) => [100 * x / coupon.height_mm, force]);
    return coupon.points[along];
  }

  drawCurves() {
    if (this.full.hidden) return;
    this.chart ||= new Chart(this.chartPlace, {label: "force of all coupons in sight over strain or shortening", height: 380,
      onRead: (found) => this.read(found), onPick: (item) => item.key && this.put(item.key, !this.onBench.includes(item.key))});
    const some = this.onBench.length > 0, few = !some && this.inSight.length <= benchMost;
    const items = this.inSight.map((coupon) => {
      const on = this.onBench.includes(coupon.key);
      return {key: coupon.key, name: coupon.name, points: this.points(coupon), spread: on || few ? this.spread(coupon) : null, ...coupon.look, marker: undefined, width: on ? 3.5 : 1.8, faint: some && !on};
    }).sort((a, b) => (a.width - b.width));
    const strain = this.over.select.value === "strain", height = this.bench.coupons?.height || this.coupons[0]?.height_mm;
    for (const one of this.measured) {
      items.push({name: `measured: ${one.name}`, colour: "--measured", width: 3, dash: [1, 5],
        points: strain ? one.curve.map(([x, force]) => [100 * x / height, force]) : one.curve});
    }
    const all = items.map((item) => item.points), right = Math.max(0.1, ...all.map((points) => points.length ? points[points.length - 1][0] : 0));
    const whole = this.top.select.value === "whole";
    let highest = 1e-9;
    for (const points of all) for (const [, y] of points) highest = Math.max(highest, y);
    this.most = {x: 1.02 * right, y: whole ? 1.05 * highest : plateauHeight(all)};
    this.chart.show(items, {x: strain ? "strain [%]" : "shortening [mm]", y: "force [N]"}, this.most);
    this.beside?.mark();
    this.drawLegend();
  }

  read(found) {
    const strain = this.over.select.value === "strain";
    this.readout.textContent = found ? unbroken(`${found.item.name}: ${numberText(found.y, 3)} N at ${numberText(found.x, 3)} ${strain ? "% strain" : "mm"}`)
      : "The pointer on a curve, or arrow keys, read it off; a press or Enter puts it side by side with others. The table says the same in figures.";
    return this.readout.textContent;
  }

  drawLegend() {
    const pattern = this.looks.patterns.map((name) => make("li", {}, swatch({...this.looks.ofPattern(name), dash: []}), ` ${name}`));
    const density = this.looks.bands.map((text, band) => make("li", {}, swatch({colour: "--ink", dash: this.looks.of(this.coupons.find((one) => one.look.band === band)).dash}),
      ` ${unbroken(text)} `, make("span", {class: "unseen"}, dashWords[band])));
    const seeds = this.inSight.some((coupon) => coupon.seeds?.length > 1)
      ? [make("h4", {}, "Flaws"), make("p", {class: "note"}, "Several seeds of the flaws are one coupon: figures are medians, the pale band holds all curves.")] : [];
    const measured = this.measured.length ? [make("h4", {}, "Measured"), make("ul", {}, make("li", {}, swatch({colour: "--measured", dash: [1, 5], width: 3}), " on a rig"))] : [];
    this.legend.replaceChildren(make("div", {}, make("h4", {}, "Pattern, by colour and mark"), make("ul", {}, pattern)),
      make("div", {}, make("h4", {}, "Density, by dash"), make("ul", {}, density)), make("div", {}, seeds, measured));
  }

  drawScatter() {
    if (this.full.hidden) return;
    this.scatter ||= new Chart(this.scatterPlace, {label: "two figures of all coupons in sight", height: 380,
      onRead: (found) => this.readScatter(found),
      onPick: (item) => this.put(item.key, !this.onBench.includes(item.key))});
    const [across, up] = [this.scatterX.select.value, this.scatterY.select.value];
    const items = [], most = {x: 0, y: 0, left: 0, low: 0};
    for (const coupon of this.inSight) {
      const x = this.valueFor(coupon, across), y = this.valueFor(coupon, up);
      if (x === null || y === null) continue;
      items.push({key: coupon.key, name: coupon.name, points: [[x, y]], ...coupon.look, size: 4 + 1.2 * coupon.look.band, ring: this.onBench.includes(coupon.key)});
      most.x = Math.max(most.x, 1.08 * x);
      most.y = Math.max(most.y, 1.08 * y);
      most.left = Math.min(most.left, 1.08 * x);
      most.low = Math.min(most.low, 1.08 * y);
    }
    const name = (choiceOf) => choiceOf.select.selectedOptions[0]?.textContent || "";
    this.scatter.show(items, {x: name(this.scatterX), y: name(this.scatterY)}, {...most, x: most.x || 1, y: most.y || 1});
  }

  readScatter(found) {
    this.scatterRead.textContent = found ? unbroken(`${found.item.name}: ${numberText(found.x, 3)} and ${numberText(found.y, 3)}`)
      : "Larger marks are denser coupons. The pointer on a mark, or arrow keys, read it off; a press or Enter puts it side by side with others.";
    return this.scatterRead.textContent;
  }

  /* ---- side by side ---- */

  put(key, on) {
    if (on && this.onBench.length >= benchMost) {
      say(`${benchMost} coupons are side by side already; take one away first.`);
      return;
    }
    this.onBench = on ? [...this.onBench, key] : this.onBench.filter((one) => one !== key);
    this.changedBench();
    this.table.mark();
    this.redraw("drawCurves", "drawScatter");
  }

  changedBench() {
    remember("onBench", this.onBench);
    this.beside.show(this.onBench.map((key) => this.coupons.find((coupon) => coupon.key === key)).filter(Boolean));
  }

  /* An address names one coupon: it comes on the bench. */
  select(address) {
    const key = address && (this.coupons.find((coupon) => coupon.keys?.includes(address))?.key || address);
    if (key && this.coupons.some((coupon) => coupon.key === key) && !this.onBench.includes(key)) this.put(key, true);
    else if (key && !this.coupons.length) this.wanted = key;
    else document.getElementById("beside-heading")?.scrollIntoView({block: "start"});
    this.chart?.fit();
    this.scatter?.fit();
    if (key) {
      const heading = document.getElementById("beside-heading");
      heading?.focus({preventScroll: true});
      heading?.scrollIntoView({block: "start"});
    }
  }

  /* ---- measured curves ---- */

  async measure(files) {
    for (const file of files.slice(0, 8)) {
      try {
        const answer = await talk.rig(file);
        for (const curve of answer.curves) this.measured.push({...curve, file: file.name, words: answer.understood, cautions: answer.cautions || []});
        trouble("");
        say(`${file.name}: ${answer.understood}`);
      } catch (error) {
        trouble(`${file.name}: ${error.message}`);
      }
    }
    this.file.value = "";
    this.measuredList.replaceChildren(...this.measured.map((one, i) => make("li", {}, `${one.file}, ${one.name}: ${one.words} `,
      one.cautions.map((text) => make("em", {}, `${text} `)),
      button("Take away", () => {
        this.measured.splice(i, 1);
        this.measure([]);
      }))));
    this.drawCurves();
  }

  /* "28.3 to 29.1 (5 seeds)"; "" where the seeds agree, or where there is one. */
  endsText(coupon, id) {
    const ends = coupon.ends?.[id], {factor} = figureScale(this.figure(id));
    return ends ? `${numberText(factor * ends[0], 3)} to ${numberText(factor * ends[1], 3)}` : "";
  }

  figureText(coupon, id) {
    const scale = figureScale(this.figure(id)), value = coupon.figures[id];
    return value === null || value === undefined ? coupon.reason?.[id] || "not reached" : withUnit(scale.factor * value, scale.unit);
  }
}
