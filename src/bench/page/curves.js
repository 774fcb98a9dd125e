/* Charts: axes and places are uPlot's, the lines and marks are drawn here, so that hundreds of curves stay quick. */
import {make, colour, numberText, onThemeChange} from "./tools.js";

const near = 24; /* px from the pointer to a curve that it reads */

/* Marks that differ in shape, so that they are told apart without their colour. */
const markers = [
  (ink, x, y, r) => ink.arc(x, y, r, 0, 2 * Math.PI),
  (ink, x, y, r) => ink.rect(x - r, y - r, 2 * r, 2 * r),
  (ink, x, y, r) => polygon(ink, x, y, 1.25 * r, 3, -90),
  (ink, x, y, r) => polygon(ink, x, y, 1.3 * r, 4, 0),
  (ink, x, y, r) => polygon(ink, x, y, 1.25 * r, 3, 90),
  (ink, x, y, r) => polygon(ink, x, y, 1.2 * r, 6, 0),
  (ink, x, y, r) => polygon(ink, x, y, 1.25 * r, 5, -90),
];

function polygon(ink, x, y, r, corners, turn) {
  for (let i = 0; i < corners; i++) {
    const angle = (turn + 360 * i / corners) * Math.PI / 180;
    ink[i ? "lineTo" : "moveTo"](x + r * Math.cos(angle), y + r * Math.sin(angle));
  }
  ink.closePath();
}

export function drawMarker(ink, marker, x, y, r) {
  ink.beginPath();
  markers[marker % markers.length](ink, x, y, r);
}

/* A short piece of a line, or a mark, for a legend. */
export function swatch({colour: name, dash, marker, width = 2.5}) {
  const canvas = make("canvas", {class: "swatch", "aria-hidden": "true"});
  canvas.width = 68;
  canvas.height = 24;
  const draw = () => {
    const ink = canvas.getContext("2d");
    ink.setTransform(2, 0, 0, 2, 0, 0);
    ink.clearRect(0, 0, 34, 12);
    ink.strokeStyle = ink.fillStyle = colour(name);
    ink.lineWidth = width;
    if (dash) {
      ink.setLineDash(dash);
      ink.beginPath();
      ink.moveTo(1, 6);
      ink.lineTo(33, 6);
      ink.stroke();
    }
    if (marker !== undefined) {
      drawMarker(ink, marker, 17, 6, 4.5);
      ink.fill();
    }
  };
  draw();
  onThemeChange(draw);
  return canvas;
}

export class Chart {
  /* `label` is read by screen readers; onRead({item, x, y}) when the pointer is near an item, onRead(null) when not. */
  constructor(box, {label, height = 340, onRead, onPick}) {
    this.box = box;
    this.height = height;
    this.items = [];
    this.names = {x: "", y: ""};
    this.most = {x: 1, y: 1, left: 0, low: 0};
    this.onRead = onRead;
    box.classList.add("chart");
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", label);
    const axis = (side, size) => ({
      stroke: () => colour("--ink"), size, labelSize: 22, label: " ", font: "13px system-ui, sans-serif", labelFont: "13px system-ui, sans-serif",
      grid: {stroke: () => colour("--grid"), width: 1}, ticks: {stroke: () => colour("--grid"), width: 1},
      values: (plot, ticks) => ticks.map((tick) => numberText(tick)),
    });
    this.plot = new uPlot({
      width: this.width(), height, legend: {show: false}, padding: [12, 16, 0, 0],
      scales: {x: {time: false, range: () => [this.most.left, this.most.x]}, y: {range: () => [this.most.low, this.most.y]}},
      axes: [axis("x", 34), axis("y", 58)],
      cursor: {drag: {x: false, y: false, setScale: false}, points: {show: false}, y: false},
      series: [{}, {show: true, stroke: "transparent", points: {show: false}, paths: () => null}],
      hooks: {draw: [(plot) => this.paint(plot)], setCursor: [(plot) => this.read(plot)]},
    }, [[0, 1], [0, 1]], box);
    this.line = make("div", {class: "chart-line", hidden: true});
    this.plot.over.append(this.line);
    if (onPick) this.plot.over.addEventListener("click", () => this.found && onPick(this.found.item));
    new ResizeObserver(() => this.fit()).observe(box);
    onThemeChange(() => this.plot.redraw(false, true));
  }

  width() {
    return Math.max(220, Math.floor(this.box.clientWidth));
  }

  fit() {
    if (this.box.clientWidth > 0 && this.width() !== this.plot.width) {
      this.plot.setSize({width: this.width(), height: this.height});
      this.plot.redraw(false, true);
    }
  }

  /* `items`: {points: [[x, y], ...], colour, dash, width, faint, marker (one mark a point instead of a line), size} */
  show(items, names, most) {
    this.items = items;
    this.most = {left: 0, low: 0, x: 1, y: 1, ...most};
    const [x, y] = this.plot.axes;
    x.label = names.x;
    y.label = names.y;
    this.plot.setData([[0, 1], [0, 1]], true);
    this.plot.redraw(true, true);
  }

  /* A line across the chart at one x or one y; null takes it away. */
  mark(where) {
    this.line.hidden = !where;
    if (!where) return;
    const upright = where.x !== undefined;
    const {over} = this.plot;
    this.line.classList.toggle("upright", upright);
    this.line.style.left = upright ? `${this.plot.valToPos(where.x, "x")}px` : "0";
    this.line.style.top = upright ? "0" : `${this.plot.valToPos(where.y, "y")}px`;
    this.line.hidden = upright ? where.x > this.most.x : where.y > this.most.y || !over;
  }

  /* Factors from values to pixels of the canvas. */
  places(plot, canvas) {
    const {x, y, left, low} = this.most, box = canvas ? plot.bbox : {left: 0, top: 0, width: plot.over.clientWidth, height: plot.over.clientHeight};
    const fx = box.width / (x - left || 1), fy = box.height / (y - low || 1);
    return {fx, fy, x0: box.left - left * fx, y0: box.top + box.height + low * fy};
  }

  paint(plot) {
    const ink = plot.ctx, {fx, fy, x0, y0} = this.places(plot, true), ratio = uPlot.pxRatio;
    ink.save();
    ink.beginPath();
    ink.rect(plot.bbox.left, plot.bbox.top, plot.bbox.width, plot.bbox.height);
    ink.clip();
    ink.lineJoin = "round";
    const known = new Map();
    for (const item of this.items) {
      if (!known.has(item.colour)) known.set(item.colour, colour(item.colour));
      ink.globalAlpha = item.faint ? 0.55 : 1;
      ink.strokeStyle = ink.fillStyle = known.get(item.colour);
      if (item.marker !== undefined) {
        for (const [x, y] of item.points) {
          drawMarker(ink, item.marker, x0 + fx * x, y0 - fy * y, (item.size || 5) * ratio);
          ink.fill();
          if (item.ring) {
            ink.strokeStyle = colour("--ink");
            ink.lineWidth = 2 * ratio;
            ink.stroke();
          }
        }
        continue;
      }
      ink.lineWidth = (item.width || 2) * ratio;
      ink.setLineDash((item.dash || []).map((length) => length * ratio));
      ink.beginPath();
      for (const [x, y] of item.points) ink.lineTo(x0 + fx * x, y0 - fy * y);
      ink.stroke();
    }
    ink.restore();
  }

  /* The item nearest to the pointer. */
  read(plot) {
    if (!this.onRead) return;
    const {left, top} = plot.cursor;
    this.found = null;
    if (left >= 0 && top >= 0) {
      const {fx, fy, x0, y0} = this.places(plot, false);
      let best = near;
      for (const item of this.items) {
        for (const [x, y] of item.points) {
          const off = Math.hypot(x0 + fx * x - left, y0 - fy * y - top);
          if (off < best) {
            best = off;
            this.found = {item, x, y};
          }
        }
      }
    }
    this.onRead(this.found);
  }
}
