"use strict";
/* All parts of the page use these tools: elements, numbers, packed data, colours, charts that follow their width. */

/* make("p", {class: "note"}, "text", element, ...) */
function make(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/* Write four digits, without an exponent between 0.001 and a million. */
function numberText(value, digits = 4) {
  if (value === null || !Number.isFinite(value)) return "not reached";
  const rounded = Number(value.toPrecision(digits));
  const size = Math.abs(rounded);
  return size !== 0 && (size < 1e-3 || size >= 1e6) ? rounded.toExponential() : String(rounded);
}

/* Write the median of a table with four digits, with its final zeros, so that columns are even. */
function figureText(value) {
  const size = Math.abs(value);
  if (size !== 0 && (size < 1e-3 || size >= 1e6)) return numberText(value);
  return size >= 1e4 ? String(Math.round(value)) : value.toPrecision(4);
}

/* Write its spread, rounded at the same digit. */
function spreadText(half, median) {
  const text = figureText(median);
  if (text.includes("e")) return numberText(half, 2);
  const places = text.includes(".") ? text.length - text.indexOf(".") - 1 : 0;
  return half.toFixed(places);
}

function largestOf(values) {
  return values.reduce((largest, value) => Math.max(largest, value), -Infinity);
}

/* Keep a number and its unit on one line. */
function unbroken(text) {
  return text.replace(/(\d) (?=\S)/g, "$1\u00a0");
}

/* "plateau stress" of plateau_stress: the name of a figure as people read it. */
function inWords(name) {
  return name.replaceAll("_", " ");
}

/* The name with which --figures and targets ask for it may break after its underscores. */
function breakable(name) {
  const parts = name.split("_");
  const element = make("code", {});
  parts.forEach((part, i) => element.append(i ? "_" : "", i ? make("wbr") : "", part));
  return element;
}

/* ---- packed data ---- */

function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

/* x, y, x, y, ... in mm of 16 bit numbers, lowest byte first. A spatial coupon comes as it is seen, with a third number
   for every point: how far it lies towards the reader, in `depth`. */
function positionsOf(base64, box) {
  const bytes = bytesOf(base64);
  const lows = [box.left_mm, box.bottom_mm, ...(box.far_mm === undefined ? [] : [box.far_mm])];
  const points = bytes.length / (2 * lows.length);
  const positions = new Float32Array(2 * points);
  if (lows.length === 3) positions.depth = new Float32Array(points);
  for (let i = 0; i < bytes.length / 2; i++) {
    const point = Math.floor(i / lows.length), k = i % lows.length;
    const place = lows[k] + box.unit_mm * (bytes[2 * i] + 256 * bytes[2 * i + 1]);
    if (k < 2) positions[2 * point + k] = place;
    else positions.depth[point] = place;
  }
  return positions;
}

/* ---- colours ---- */

function themeColour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

/* Choose the look of curves: series differ in colour, the coupons of one series in dashes, those of a single series in colour. */
function lineStyles(rows) {
  const dashes = [[], [8, 4], [2, 3], [10, 3, 2, 3]];
  const single = new Set(rows.map((row) => row.series)).size === 1;
  return rows.map((row) => {
    const first = single ? row.place : row.series;
    const second = single ? 0 : row.place;
    return {colour: `--line-${first % 7}`, dash: dashes[(Math.floor(first / 7) + second) % 4]};
  });
}

/* ---- charts ---- */

const charts = []; /* {plot, box, height, paperHeight} of every chart of the page */

/* Draw all charts again, when colours or widths have changed. */
function fitCharts(paperWidth) {
  for (const chart of charts) {
    const wide = Math.max(240, Math.floor(paperWidth || chart.box.clientWidth));
    chart.plot.setSize({width: wide, height: paperWidth ? chart.paperHeight : chart.height});
    chart.plot.redraw(false, true);
  }
}

function axisOptions(label, size = 60) {
  const ink = () => themeColour("--ink");
  const grid = {stroke: () => themeColour("--grid"), width: 1};
  return {label, stroke: ink, grid, ticks: grid, size, labelSize: 20, font: "13px sans-serif",
    labelFont: "13px sans-serif", values: (plot, ticks) => ticks.map((tick) => numberText(tick))};
}

function makeChart(box, height, paperHeight, options, data) {
  const fixed = {
    width: Math.max(240, box.clientWidth), height, legend: {show: false},
    padding: [12, 14, 0, 0],
  };
  const plot = new uPlot({...fixed, ...options}, data, box);
  charts.push({plot, box, height, paperHeight});
  return plot;
}

/* A chart needs rising x; at a snap two points stand at one shortening: the second moves right by less than a pixel. */
function rising(values) {
  const step = 1e-7 * Math.abs(values[values.length - 1] || 1);
  let last = -Infinity;
  return values.map((value) => (last = value > last ? value : last + step));
}

/* Interpolate straight between the points of one curve; null outside. */
function valueAt(xs, ys, x) {
  if (!xs.length || x < xs[0] || x > xs[xs.length - 1]) return null;
  let low = 0, high = xs.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (xs[middle] <= x) low = middle; else high = middle;
  }
  const share = xs[high] > xs[low] ? (x - xs[low]) / (xs[high] - xs[low]) : 0;
  return ys[low] + share * (ys[high] - ys[low]);
}
