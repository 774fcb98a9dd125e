"use strict";
/* This file draws two figures of all coupons against each other; the colour of a point is that of its curve, and the legend names the series. */

class Scatter {
  constructor(section, data) {
    this.data = data;
    this.columns = data.columns.map((column, k) => ({...column, k}))
      .filter(({k}) => data.rows.filter((row) => row.figures[k].count).length > 1);
    if (this.columns.length < 2) return;
    const entries = this.columns.map((column, i) => [String(i), `${inWords(column.name)}${column.unit === "-" ? "" : ` [${column.unit}]`}`]);
    const across = choiceOf("scatter-across", "Across", entries), up = choiceOf("scatter-up", "Up", entries);
    this.across = across.select;
    this.up = up.select;
    this.up.value = String(Math.min(this.columns.length - 1, 3));
    this.box = make("div", {class: "chart", id: "scatter-chart", role: "img"});
    section.append(make("h3", {}, "Two figures against each other"),
      make("div", {class: "controls"}, across.element, up.element), this.box, this.legend());
    for (const select of [this.across, this.up]) select.addEventListener("change", () => this.draw());
    document.addEventListener("filtered", () => this.draw());
    this.draw();
  }

  legend() {
    const names = new Map();
    for (const row of this.data.rows) if (!names.has(row.series)) names.set(row.series, row.label.replace(/,? ?density [^,]*/, "") || row.label);
    const list = make("ul", {class: "legend points"});
    for (const [series, name] of names) {
      const dot = make("span", {class: "dot", "aria-hidden": "true"});
      dot.style.background = `var(--line-${series % 7})`;
      list.append(make("li", {}, make("span", {}, dot, unbroken(name))));
    }
    return list;
  }

  /* Make one line of data per series, with its points alone, as the chart needs them: x rising, null where a series has no point. */
  points() {
    const [x, y] = [this.across, this.up].map((select) => this.columns[Number(select.value)].k);
    const all = this.data.rows.filter((row) => !row.hidden && row.figures[x].count && row.figures[y].count)
      .map((row) => ({series: row.series, x: row.figures[x].median, y: row.figures[y].median}))
      .sort((a, b) => a.x - b.x);
    const series = [...new Set(this.data.rows.map((row) => row.series))];
    return {series, data: [rising(all.map((one) => one.x)), ...series.map((s) => all.map((one) => one.series === s ? one.y : null))]};
  }

  draw() {
    const {series, data} = this.points();
    const [across, up] = [this.across, this.up].map((select) => select.selectedOptions[0].textContent);
    this.box.setAttribute("aria-label", `${up} over ${across}, ${data[0].length} coupons`);
    if (this.plot) {
      charts.splice(charts.findIndex((chart) => chart.plot === this.plot), 1);
      this.plot.destroy();
    }
    const room = (plot, low, high) => {
      const part = 0.06 * (high - low || Math.abs(high) || 1);
      return [low - part, high + part];
    };
    this.plot = makeChart(this.box, 340, 230, {
      scales: {x: {time: false, range: room}, y: {range: room}},
      axes: [axisOptions(across, 36), axisOptions(up)],
      cursor: {show: false},
      series: [{}, ...series.map((s) => ({paths: () => null,
        points: {show: true, size: 9, stroke: () => themeColour(`--line-${s % 7}`), fill: () => themeColour(`--line-${s % 7}`)}}))],
    }, data);
    fitCharts();
  }
}
