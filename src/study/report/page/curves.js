"use strict";
/* This file draws all curves in one chart, with switches as legend and values under the pointer. */

const curveAxes = {
  strain: {x: "strain", y: "stress_MPa", xName: "nominal strain [%]", yName: "nominal stress [MPa]", scale: 100,
    at: (x) => `at ${numberText(x, 3)} % strain`, unit: "MPa"},
  force: {x: "shortening_mm", y: "force_N", xName: "shortening [mm]", yName: "force [N]", scale: 1,
    at: (x) => `at ${numberText(x, 3)} mm shortening`, unit: "N"},
};

function swatch(style) {
  const line = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  line.setAttribute("viewBox", "0 0 34 10");
  line.setAttribute("class", "swatch");
  line.setAttribute("aria-hidden", "true");
  const stroke = document.createElementNS("http://www.w3.org/2000/svg", "path");
  stroke.setAttribute("d", "M1 5H33");
  stroke.setAttribute("stroke-dasharray", style.dash.join(" "));
  stroke.style.stroke = `var(${style.colour})`;
  line.append(stroke);
  return line;
}

function choiceOf(name, label, entries) {
  const select = make("select", {id: name});
  for (const [value, text] of entries) select.append(make("option", {value}, text));
  return {select, element: make("label", {for: name}, label, " ", select)};
}

class Curves {
  constructor(section, data) {
    const pressed = data.rows.filter((row) => row.curve && row.curve.strain.length);
    const dashes = [[], [8, 4], [2, 3], [10, 3, 2, 3]];
    this.rows = [...pressed, ...data.tested];
    this.styles = [...lineStyles(pressed), ...data.tested.map((one, i) => ({colour: "--ink", dash: dashes[i % 4]}))];
    this.stressEnd = data.stress_end_MPa;
    this.misfit = data.columns.findIndex((column) => column.name === "tested_misfit");
    if (!this.rows.length) {
      section.append(make("p", {}, "No coupon has a curve."));
      return;
    }
    this.build(section, data);
    this.draw();
  }

  build(section, data) {
    const axes = choiceOf("curve-axes", "Axes",
      [["strain", "stress over strain"], ["force", "force over shortening"]]);
    const range = choiceOf("curve-range", "Height",
      [["plateau", "around the plateaus"], ["whole", "whole curves"]]);
    this.axes = axes.select;
    this.range = range.select;
    this.axes.addEventListener("change", () => this.draw());
    this.range.addEventListener("change", () => this.draw());
    const all = make("button", {type: "button", id: "curves-all"}, "Show all");
    const none = make("button", {type: "button", id: "curves-none"}, "Hide all");
    all.addEventListener("click", () => this.switchAll(true));
    none.addEventListener("click", () => this.switchAll(false));
    this.box = make("div", {class: "chart", id: "curve-chart", tabindex: "0", role: "group",
      "aria-label": "curves of all coupons; left and right arrows read values off"});
    this.box.addEventListener("keydown", (event) => this.onKey(event));
    this.where = make("p", {class: "note", role: "status", id: "curve-where"});
    this.legend = make("ul", {class: "legend", id: "legend"});
    this.items = this.rows.map((row, i) => this.legendItem(row, i));
    if (data.rows.some((row) => row.seeds > 1)) {
      section.append(make("p", {}, "Of each coupon the curve of the flaw seed whose plateau is nearest the median, in a band from the lowest to the highest force of all its seeds."));
    }
    if (data.tested.length) {
      section.append(make("p", {}, "In the colour of the text: curves of a test rig, as `strutpress rig` reads their file."));
    }
    section.append(make("div", {class: "controls"}, axes.element, range.element, all, none),
      make("div", {class: "curve-grid"}, this.box, make("div", {}, this.where, this.legend)));
    const more = data.rows.filter((row) => !row.curve && row.seeds > row.failed).length;
    if (more) section.append(make("p", {class: "caution"}, `The curves of ${more} more coupons are not drawn.`));
  }

  legendItem(row, i) {
    const box = make("input", {type: "checkbox", id: `curve-${i}`});
    const value = make("span", {class: "value"});
    box.checked = true;
    box.addEventListener("change", () => this.show(i, box.checked));
    const off = row.figures && this.misfit >= 0 && row.figures[this.misfit];
    const name = make("span", {}, unbroken(row.label));
    if (off && off.count) {
      name.append(make("small", {class: "none"}, ` ${numberText(100 * off.median, 2)} % off the tested, ${off.words}`));
    }
    this.legend.append(make("li", {}, make("label", {for: box.id}, box, swatch(this.styles[i]), name), value));
    return {box, value};
  }

  switchAll(on) {
    this.items.forEach((item, i) => {
      item.box.checked = on;
      this.show(i, on);
    });
  }

  /* Show or hide a curve with its band. */
  show(i, on) {
    this.plot.setSeries(i + 1, {show: on});
    this.bands.forEach((band, k) => {
      if (band.row !== i) return;
      this.plot.setSeries(this.rows.length + 2 * k + 1, {show: on});
      this.plot.setSeries(this.rows.length + 2 * k + 2, {show: on});
    });
  }

  /* Draw the band of each row with several seeds: stresses over strains, or forces over shortenings by the last point of its curve. */
  bandsOf(rows, kind) {
    return rows.map((row, i) => ({row: i, band: row.band})).filter(({band}) => band && band.strain.length).map(({row, band}) => {
      const curve = rows[row].curve;
      const last = curve.strain.length - 1;
      const inForce = kind === curveAxes.force;
      const x = inForce ? curve.shortening_mm[last] / curve.strain[last] : kind.scale;
      const y = inForce && curve.stress_MPa[last] ? curve.force_N[last] / curve.stress_MPa[last] : 1;
      return {row, xs: rising(band.strain.map((value) => x * value)), low: band.low_MPa.map((value) => y * value),
        high: band.high_MPa.map((value) => y * value)};
    });
  }

  /* Find the top of the chart: stresses far above the plateaus would flatten the rest of the picture. */
  top() {
    const kind = curveAxes[this.axes.value];
    const shown = this.rows.filter((row, i) => this.items[i].box.checked);
    let highest = 0;
    for (const row of shown) highest = Math.max(highest, largestOf(row.curve[kind.y]));
    const end = this.axes.value === "strain" ? this.stressEnd : this.stressEnd * this.area();
    return this.range.value === "plateau" && end > 0 && highest > 1.5 * end ? end : 1.04 * highest || 1;
  }

  /* Return the largest force / stress [mm2]: coupons may have different sizes. */
  area() {
    let area = 0;
    for (const row of this.rows) {
      const last = row.curve.force_N.length - 1;
      if (row.curve.stress_MPa[last] > 0) {
        area = Math.max(area, row.curve.force_N[last] / row.curve.stress_MPa[last]);
      }
    }
    return area;
  }

  draw() {
    const kind = curveAxes[this.axes.value];
    this.xs = this.rows.map((row) => rising(row.curve[kind.x].map((x) => kind.scale * x)));
    this.ys = this.rows.map((row) => row.curve[kind.y]);
    this.bands = this.bandsOf(this.rows, kind);
    const data = uPlot.join([...this.xs.map((x, i) => [x, this.ys[i]]),
      ...this.bands.flatMap((band) => [[band.xs, band.high], [band.xs, band.low]])]);
    const edge = (band) => ({label: "", show: this.items[band.row].box.checked, width: 0, points: {show: false}});
    const options = {
      scales: {x: {time: false}, y: {range: () => [0, this.top()]}},
      axes: [axisOptions(kind.xName, 36), axisOptions(kind.yName)],
      cursor: {y: false, points: {show: false}, drag: {x: false, y: false, setScale: false}},
      series: [{}, ...this.rows.map((row, i) => ({
        label: row.label, show: this.items[i].box.checked, width: 2, dash: this.styles[i].dash,
        stroke: () => themeColour(this.styles[i].colour), points: {show: false}})),
      ...this.bands.flatMap((band) => [edge(band), edge(band)])],
      bands: this.bands.map((band, k) => ({series: [this.rows.length + 2 * k + 1, this.rows.length + 2 * k + 2],
        fill: () => `color-mix(in srgb, ${themeColour(this.styles[band.row].colour)} 20%, transparent)`})),
      hooks: {setCursor: [(plot) => this.read(plot)]},
    };
    if (this.plot) {
      charts.splice(charts.findIndex((chart) => chart.plot === this.plot), 1);
      this.plot.destroy();
    }
    this.plot = makeChart(this.box, 420, 300, options, data);
    this.read(this.plot);
  }

  read(plot) {
    const left = plot.cursor.left;
    const kind = curveAxes[this.axes.value];
    if (left === undefined || left < 0) {
      this.where.textContent = "Point at the chart, or use the arrow keys in it, to read values off.";
      this.items.forEach((item) => { item.value.textContent = ""; });
      return;
    }
    this.x = plot.posToVal(left, "x");
    this.where.textContent = `${kind.at(this.x)}, in ${kind.unit}:`;
    this.items.forEach((item, i) => {
      const value = valueAt(this.xs[i], this.ys[i], this.x);
      item.value.textContent = value === null ? "not reached" : numberText(value);
    });
  }

  onKey(event) {
    const step = {ArrowLeft: -1, ArrowRight: 1}[event.key];
    if (!step) return;
    event.preventDefault();
    const {min, max} = this.plot.scales.x;
    const from = this.plot.cursor.left >= 0 ? this.x : min;
    const x = Math.min(max, Math.max(min, from + step * (max - min) / 50));
    this.plot.setCursor({left: this.plot.valToPos(x, "x"), top: 10});
  }
}
