"use strict";
/* This file shows the deformed states of one coupon with a slider, the same moment on its curve, and its critical mode. */

/* These are the colours of the drawn coupons, by the theme of the page. */
const inLight = {ground: "#ffffff", ink: "#222222", pale: "#c9ced6", platen: "#8a919c", mode: "#d55e00", strut: "#0072b2", block: "#56b4e9",
  stateEdge: "#a9b0bb"};
const inDark = {ground: "#16181c", ink: "#c8ccd4", pale: "#565d69", platen: "#777e8a", mode: "#ff8a3c", strut: "#56b4e9", block: "#2f8fc4",
  stateEdge: "#7b8290"};
let paper = inLight;

function takeTheme() {
  const isDark = matchMedia("(prefers-color-scheme: dark)").matches && !document.documentElement.classList.contains("paper");
  paper = isDark ? inDark : inLight;
}
const outlineShare = 0.16; /* of a bead's width, both sides together */
const platenThickness = 8; /* px */
const stripStates = 5; /* on paper, which has no slider */
const wallFront = 0.5, rimBehind = 0.55; /* widths, in the order from back to front */
const cutsMost = 4; /* parts of a piece that points at the reader */
const fadeMost = 0.42; /* share of the ground at the far end; a colour that stands for a strain is not paled */
const plateauTimes = 3; /* height of the curve's picture / plateau, while the drawn state is below it */

/* ---- shapes on a canvas ---- */

/* Mix a colour "#rrggbb" with a share of the ground. */
function faded(colour, share) {
  const part = (at) => {
    const value = parseInt(colour.slice(at, at + 2), 16), ground = parseInt(paper.ground.slice(at, at + 2), 16);
    return Math.round(value + share * (ground - value));
  };
  return `rgb(${part(1)}, ${part(3)}, ${part(5)})`;
}

class ShapeCanvas {
  constructor(box, label) {
    this.canvas = make("canvas", {role: "img", "aria-label": label});
    this.box = box;
    box.append(this.canvas);
  }

  /* Make room for `view` ({left, right, bottom, top} in mm) with a platen below and above. */
  begin(view, width, most) {
    takeTheme();
    const ratio = Math.max(2, window.devicePixelRatio || 1);
    const scale = Math.min((width - 8) / (view.right - view.left), most / (view.top - view.bottom));
    const wide = Math.round(width);
    const high = Math.round(scale * (view.top - view.bottom) + 2 * platenThickness + 8);
    this.canvas.width = wide * ratio;
    this.canvas.height = high * ratio;
    this.canvas.style.width = `${wide}px`;
    this.canvas.style.height = `${high}px`;
    const ink = this.canvas.getContext("2d");
    ink.setTransform(ratio, 0, 0, ratio, 0, 0);
    ink.fillStyle = paper.ground;
    ink.fillRect(0, 0, wide, high);
    const left = (wide - scale * (view.right - view.left)) / 2;
    const low = high - platenThickness - 4;
    ink.setTransform(ratio * scale, 0, 0, -ratio * scale, ratio * (left - scale * view.left),
      ratio * (low + scale * view.bottom));
    ink.lineCap = ink.lineJoin = "round";
    this.ink = ink;
    this.pixel = 1 / scale;
    this.view = view;
  }

  platen(face, side) {
    const {ink, pixel, view} = this;
    const thick = side * platenThickness * pixel;
    ink.fillStyle = paper.platen;
    ink.fillRect(view.left, face, view.right - view.left, thick);
    ink.fillStyle = paper.ink;
    ink.fillRect(view.left, face, view.right - view.left, side * 1.5 * pixel);
  }

  /* Draw the outline of a solid block. */
  block(outline) {
    const {ink, pixel} = this;
    ink.beginPath();
    for (let i = 0; i < outline.length; i += 2) ink.lineTo(outline[i], outline[i + 1]);
    ink.closePath();
    ink.fillStyle = paper.block;
    ink.fill();
    ink.strokeStyle = paper.ink;
    ink.lineWidth = 1.5 * pixel;
    ink.stroke();
  }

  stroke(positions, from, to, width, colour) {
    const ink = this.ink;
    ink.strokeStyle = colour;
    ink.lineWidth = width;
    ink.beginPath();
    ink.moveTo(positions[2 * from], positions[2 * from + 1]);
    for (let p = from + 1; p <= to; p++) ink.lineTo(positions[2 * p], positions[2 * p + 1]);
    ink.stroke();
  }

  /* The infill is drawn first, because its ends lie inside the wall. */
  eachStrut(struts, draw) {
    for (const wall of [0, 1]) {
      struts.wall.forEach((role, s) => {
        if (role === wall) draw(struts.first[s], struts.first[s + 1] - 1, struts.width_mm[s], s);
      });
    }
  }

  /* Draw the face of a platen of a spatial coupon: the lower one behind everything, the upper one as a veil in front of everything. */
  face(corners, down, share) {
    const {ink, pixel} = this;
    ink.beginPath();
    for (let i = 0; i < corners.length; i += 2) ink.lineTo(corners[i], corners[i + 1] - down);
    ink.closePath();
    ink.globalAlpha = share;
    ink.fillStyle = paper.platen;
    ink.fill();
    ink.globalAlpha = 1;
    ink.strokeStyle = paper.platen;
    ink.lineWidth = 1.2 * pixel;
    ink.stroke();
  }

  /* Draw spatial coupons: pieces from back to front, outlines behind their own joints but in front of what they pass. */
  ordered(struts, positions, share, rim, colourOf, isScale) {
    const {depth} = positions;
    const strokes = [];
    let far = Infinity, near = -Infinity;
    for (const place of depth) far = Math.min(far, place), near = Math.max(near, place);
    this.eachStrut(struts, (first, last, whole, s) => {
      const width = share * whole, front = struts.wall[s] ? wallFront * width : 0;
      const line = Math.min(0.4 * width, Math.max(outlineShare * width, this.pixel));
      for (let p = first; p < last; p++) {
        const parts = Math.max(1, Math.min(cutsMost, Math.ceil(Math.abs(depth[p + 1] - depth[p]) / width)));
        for (let i = 0; i < parts; i++) {
          const at = (k, t) => positions[2 * p + k] + t * (positions[2 * p + 2 + k] - positions[2 * p + k]);
          const from = depth[p] + i / parts * (depth[p + 1] - depth[p]), to = from + (depth[p + 1] - depth[p]) / parts;
          const ends = [at(0, i / parts), at(1, i / parts), at(0, (i + 1) / parts), at(1, (i + 1) / parts)];
          const pale = fadeMost * (1 - ((from + to) / 2 - far) / (near - far || 1));
          /* an end is round only where the strut ends: elsewhere it would cover the piece behind it */
          const cap = (p === first && i === 0) || (p === last - 1 && i === parts - 1) ? "round" : "butt";
          strokes.push({order: Math.min(from, to) - rimBehind * width + front, ends, width, colour: faded(rim, pale), cap},
            {order: (from + to) / 2 + front, ends, width: width - line, colour: isScale ? colourOf(p, s) : faded(colourOf(p, s), pale), cap: "round"});
        }
      }
    });
    strokes.sort((a, b) => a.order - b.order);
    const ink = this.ink;
    for (const {ends, width, colour, cap} of strokes) {
      ink.lineCap = cap;
      ink.strokeStyle = colour;
      ink.lineWidth = width;
      ink.beginPath();
      ink.moveTo(ends[0], ends[1]);
      ink.lineTo(ends[2], ends[3]);
      ink.stroke();
    }
    ink.lineCap = "round";
  }

  coloured(struts, positions, levels, colours) {
    if (positions.depth) {
      this.ordered(struts, positions, 1, paper.ink, (p) => colours[levels[p]], true);
      return;
    }
    this.eachStrut(struts, (first, last, width) => this.stroke(positions, first, last, width, paper.ink));
    this.eachStrut(struts, (first, last, width) => {
      for (let from = first, to; from < last; from = to) {
        for (to = from + 1; to < last && levels[to] === levels[from]; ) to++;
        this.stroke(positions, from, to, (1 - outlineShare) * width, colours[levels[from]]);
      }
    });
  }

  plain(struts, positions, share, colour) {
    this.eachStrut(struts, (first, last, width) => this.stroke(positions, first, last, share * width, colour));
  }
}

/* ---- one coupon ---- */

class States {
  constructor(section, data, state, number) {
    this.state = state;
    this.colours = data.colours;
    this.number = number;
    this.height = state.height_mm;
    this.at = 0;
    this.view = {left: state.box.left_mm, right: state.right_mm, bottom: state.rest_bottom_mm, top: state.rest_top_mm};
    this.article = make("article", {id: `state-${number}`, class: "state", "aria-labelledby": `state-name-${number}`},
      make("h3", {id: `state-name-${number}`, tabindex: "-1"}, unbroken(state.label)), make("p", {class: "note"}, state.coupon));
    this.article.append(this.direction(state.direction));
    section.append(this.article);
    if (state.states.length) this.build();
    else this.article.append(make("p", {}, "No state was kept."));
    this.below = make("div", {class: state.mode ? "state-grid below" : ""}, this.wordList(data));
    this.article.append(this.below);
    if (state.mode) this.buildMode();
    if (state.time_svg) this.buildTime();
    this.buildFigures();
  }

  /* Say how the coupon is printed and pressed, with the sketch of the other pictures. */
  direction({printed, pressed, sketch}) {
    return make("div", {class: "direction"},
      make("img", {src: `data:image/svg+xml;base64,${sketch}`, width: "220", height: "146", alt: "sketch: the coupon between its platens"}),
      make("p", {}, unbroken(`Printed: ${printed}.`), make("br"), unbroken(`Pressed: ${pressed}.`)));
  }

  step(i) {
    const step = this.state.states[i].step;
    return {shortening: this.state.shortening_mm[step], force: this.state.force_N[step]};
  }

  words(i) {
    const {shortening, force} = this.step(i);
    const largest = largestOf(this.state.force_N);
    const shown = Math.abs(force) < 1e-9 * largest ? 0 : force;
    return `strain ${numberText(100 * shortening / this.height, 3)} %, ` +
      `shortening ${numberText(shortening, 3)} mm, force ${numberText(shown, 3)} N`;
  }

  build() {
    const last = this.state.states.length - 1;
    const id = `slider-${this.number}`;
    const left = make("div", {class: "picture"});
    const right = make("div", {class: "chart", tabindex: "0", role: "group", "aria-label":
      `force over shortening of ${this.state.label}; left and right arrows move through the states`});
    this.slider = make("input", {type: "range", id, min: "0", max: String(last), step: "1", value: "0"});
    this.said = make("output", {for: id, id: `said-${this.number}`});
    this.slider.addEventListener("input", () => {
      this.stop();
      this.show(Number(this.slider.value));
    });
    right.addEventListener("keydown", (event) => this.onKey(event));
    this.strip = make("div", {class: "strip"});
    this.player = make("button", {type: "button", "aria-label": `play the press of ${this.state.label}`}, "Play");
    this.player.addEventListener("click", () => this.play());
    this.article.append(make("div", {class: "state-grid"}, left, right),
      make("div", {class: "slide"}, make("label", {for: id}, "State"), this.slider, this.player, this.said), this.strip, this.scaleBar(), this.drawn());
    this.shape = new ShapeCanvas(left, "");
    this.buildChart(right);
    /* begin in the middle of the press, which shows more than the unloaded coupon */
    this.show(Math.round(last / 2));
    new ResizeObserver(() => this.drawState()).observe(left);
  }

  /* Play from the first state to the last, about eight a second; the button then stops it. */
  play() {
    if (this.timer) {
      this.stop();
      return;
    }
    const last = this.state.states.length - 1;
    if (this.at === last) this.show(0);
    this.player.textContent = "Stop";
    this.timer = setInterval(() => {
      if (this.at >= last) this.stop();
      else this.show(this.at + 1);
    }, 120);
  }

  stop() {
    clearInterval(this.timer);
    this.timer = 0;
    this.player.textContent = "Play";
  }

  onKey(event) {
    const last = this.state.states.length - 1;
    const to = {ArrowLeft: this.at - 1, ArrowRight: this.at + 1, Home: 0, End: last}[event.key];
    if (to === undefined) return;
    event.preventDefault();
    this.show(Math.min(last, Math.max(0, to)));
  }

  show(i) {
    this.at = i;
    this.slider.value = String(i);
    this.slider.setAttribute("aria-valuetext", this.words(i));
    this.said.textContent = this.words(i);
    this.drawState();
    this.placePoint();
  }

  redraw() {
    if (this.shape) this.drawState();
    if (this.mode) this.drawMode();
  }

  drawState() {
    const width = Math.min(this.shape.box.clientWidth, 620);
    if (width > 0) this.drawOn(this.shape, this.at, width, 380);
    this.shape.canvas.setAttribute("aria-label", `deformed state of ${this.state.label}: ${this.words(this.at)}`);
  }

  drawOn(shape, i, width, most) {
    const state = this.state.states[i];
    state.positions ||= positionsOf(state.position, this.state.box);
    state.levels ||= bytesOf(state.level);
    shape.begin(this.view, width, most);
    const {lower_face_mm: lower, upper_face_mm: upper, rise} = this.state;
    if (lower) {
      shape.face(lower, 0, 0.2);
    } else {
      shape.platen(this.view.bottom, -1);
      shape.platen(this.view.top - this.step(i).shortening, 1);
    }
    if (state.outline_mm) shape.block(state.outline_mm);
    shape.coloured(this.state.struts, state.positions, state.levels, this.colours);
    if (upper) shape.face(upper, rise * this.step(i).shortening, 0.1);
  }

  /* Draw states at even distances for paper, each with its words. */
  drawStrip() {
    if (!this.strip || this.strip.childElementCount) return;
    const last = this.state.states.length - 1;
    const parts = Math.min(stripStates - 1, last);
    for (let k = 0; k <= parts; k++) {
      const i = parts ? Math.round(k * last / parts) : 0;
      const {shortening, force} = this.step(i);
      const figure = make("figure", {});
      this.strip.append(figure);
      this.drawOn(new ShapeCanvas(figure, this.words(i)), i, 122, 140);
      figure.append(make("figcaption", {}, `${numberText(100 * shortening / this.height, 3)} %, ${numberText(Math.max(0, force), 3)} N`));
    }
  }

  /* ---- its curve ---- */

  top() {
    const plateau = this.state.measures.find((measure) => measure.name === "plateau_stress");
    const whole = 1.04 * largestOf(this.state.force_N) || 1;
    if (!plateau || plateau.value === null) return whole;
    const near = plateauTimes * plateau.value * this.state.area_mm2;
    return Math.min(whole, Math.max(near, 1.15 * this.step(this.at).force));
  }

  buildChart(box) {
    const options = {
      scales: {x: {time: false}, y: {range: () => [0, this.top()]}},
      axes: [axisOptions("shortening [mm]", 36), axisOptions("force [N]")],
      cursor: {show: false},
      series: [{}, {width: 2, stroke: () => themeColour("--line-0"), points: {show: false}}],
      hooks: {draw: [(plot) => this.drawMarks(plot), () => this.movePoint()]},
    };
    this.point = make("div", {class: "point", "aria-hidden": "true"});
    this.data = [rising(this.state.shortening_mm), this.state.force_N];
    this.plot = makeChart(box, 340, 190, options, this.data);
    this.plot.over.append(this.point);
    const follow = (event) => this.follow(event);
    this.plot.over.addEventListener("pointermove", follow);
    this.plot.over.addEventListener("pointerdown", follow);
    this.drawnTop = this.top();
  }

  /* Find the state nearest to the pointer along the shortening. */
  follow(event) {
    const x = this.plot.posToVal(event.clientX - this.plot.over.getBoundingClientRect().left, "x");
    let best = 0;
    this.state.states.forEach((state, i) => {
      if (Math.abs(this.step(i).shortening - x) <= Math.abs(this.step(best).shortening - x)) best = i;
    });
    if (best !== this.at) this.show(best);
  }

  placePoint() {
    if (this.top() === this.drawnTop) {
      this.movePoint();
      return;
    }
    this.drawnTop = this.top();
    this.plot.setData(this.data); /* uPlot draws with the new height a little later, and then moves the point */
  }

  movePoint() {
    if (!this.plot) return;
    const {shortening, force} = this.step(this.at);
    this.point.style.left = `${this.plot.valToPos(shortening, "x")}px`;
    this.point.style.top = `${this.plot.valToPos(force, "y")}px`;
  }

  drawMarks(plot) {
    const ink = plot.ctx;
    const size = 6 * uPlot.pxRatio;
    ink.save();
    ink.beginPath();
    ink.rect(plot.bbox.left, plot.bbox.top, plot.bbox.width, plot.bbox.height);
    ink.clip();
    for (const mark of this.state.marks) {
      const x = plot.valToPos(mark.shortening_mm, "x", true), y = plot.valToPos(mark.force_N, "y", true);
      ink.fillStyle = themeColour(`--mark-${mark.kind}`);
      ink.beginPath();
      if (mark.kind === "buckled") ink.arc(x, y, 0.8 * size, 0, 2 * Math.PI);
      else if (mark.kind === "critical") ink.lineTo(x, y - 1.3 * size), ink.lineTo(x + size, y), ink.lineTo(x, y + 1.3 * size), ink.lineTo(x - size, y);
      else ink.lineTo(x, y + size), ink.lineTo(x + 0.9 * size, y - 0.7 * size), ink.lineTo(x - 0.9 * size, y - 0.7 * size);
      ink.fill();
    }
    ink.restore();
  }

  /* ---- words ---- */

  /* Say what is drawn where it is a block of the coupon. */
  drawn() {
    return this.state.drawn ? make("p", {class: "note"}, unbroken(this.state.drawn)) : "";
  }

  scaleBar() {
    if (this.state.block_note) return make("p", {class: "note"}, this.state.block_note);
    const {colour_top: top, colour_clipped: clipped} = this.state;
    const bar = make("div", {class: "bar", "aria-hidden": "true"});
    bar.style.backgroundImage = `linear-gradient(to right, ${this.colours.join(", ")})`;
    const ticks = [0, 0.25, 0.5, 0.75, 1].map((share) =>
      make("span", {}, `${numberText(100 * share * top, 3)} %${share === 1 && clipped ? "+" : ""}`));
    return make("div", {class: "scale"}, make("span", {class: "note"}, "largest fibre strain of each piece (stretch or squash)"),
      bar, make("div", {class: "ticks"}, ...ticks));
  }

  wordList(data) {
    const snaps = this.state.marks.filter((mark) => mark.kind === "snap").length;
    const found = (kind) => this.state.marks.some((mark) => mark.kind === kind);
    const entry = (kind, head, text) => [make("dt", {}, found(kind)
      ? make("span", {class: `mark ${kind}`, "aria-hidden": "true"}) : null, head), make("dd", {}, text)];
    return make("dl", {class: "words"},
      ...entry("critical", "Critical step", `${this.state.critical} (${data.program.critical_definition.replace(/^[^:]*: /, "")})`),
      ...entry("buckled", "First buckled strut", `${this.state.buckled} (${data.program.buckled_definition.replace(/^[^:]*: /, "")})`),
      ...(snaps ? entry("snap", "Snaps", String(snaps)) : []),
      ...entry("", "Stopped", this.state.stop));
  }

  /* Describe what follows the first press: loops, force while held, the squash that is left. */
  buildTime() {
    this.article.append(make("figure", {class: "in-time"}, make("img", {src: `data:image/svg+xml;base64,${this.state.time_svg}`, width: "1000", height: "520",
      alt: `${this.state.label} in time: force over strain of every cycle, force while held, what is left of the shortening while it rests`})));
  }

  buildMode() {
    const id = `mode-${this.number}`;
    const box = make("div", {class: "picture"});
    const slider = make("input", {type: "range", id, min: "-100", max: "100", step: "5", value: "100"});
    this.modeSlider = slider;
    slider.addEventListener("input", () => this.drawMode());
    this.below.append(make("div", {class: "mode"}, make("h4", {}, "Mode of the coupon without flaws"), box,
      make("p", {class: "note keys"}, make("span", {}, make("span", {class: "key critical-state"}), " critical state"),
        make("span", {}, make("span", {class: "key mode-key"}), " mode, exaggerated"),
        make("span", {}, make("span", {class: "key strut-key"}), " strut with the largest share of its bending energy")),
      make("div", {class: "slide"}, make("label", {for: id}, "Mode"), slider)));
    this.mode = new ShapeCanvas(box, `critical mode of ${this.state.label}: ${this.state.critical}`);
    const mode = this.state.mode;
    mode.from = positionsOf(mode.base, mode.box);
    mode.to = positionsOf(mode.moved, mode.box);
    this.drawMode();
    new ResizeObserver(() => this.drawMode()).observe(box);
  }

  drawMode(width) {
    const {mode} = this.state;
    const shape = this.mode;
    const share = Number(this.modeSlider.value) / 100;
    const wide = width || Math.min(shape.box.clientWidth, 520);
    if (wide <= 0) return;
    const moved = mode.from.map((from, i) => from + share * (mode.to[i] - from));
    shape.begin({left: mode.box.left_mm, right: mode.right_mm, bottom: mode.box.bottom_mm, top: mode.top_mm}, wide, 320);
    if (mode.from.depth) {
      moved.depth = mode.from.depth.map((from, i) => from + share * (mode.to.depth[i] - from));
      shape.ordered(mode.struts, mode.from, 1, paper.stateEdge, () => paper.pale);
      shape.ordered(mode.struts, moved, 0.5, paper.ink, (p, s) => s === mode.strut ? paper.strut : paper.mode);
      return;
    }
    shape.plain(mode.struts, mode.from, 1, paper.pale);
    shape.plain(mode.struts, moved, 0.5, paper.mode);
    if (mode.strut >= 0) {
      shape.stroke(moved, mode.struts.first[mode.strut], mode.struts.first[mode.strut + 1] - 1,
        0.6 * mode.struts.width_mm[mode.strut], paper.strut);
    }
  }

  buildFigures() {
    const body = make("tbody");
    for (const measure of this.state.measures) {
      body.append(make("tr", {}, make("th", {scope: "row"}, inWords(measure.name)),
        make("td", {class: measure.value === null ? "number none" : "number"},
          measure.value === null && measure.words ? measure.words : numberText(measure.value)),
        make("td", {}, measure.value === null || measure.unit === "-" ? "" : measure.unit,
          measure.value !== null && measure.words ? make("small", {class: "none"}, ` (${measure.words})`) : null)));
    }
    this.article.append(make("details", {}, make("summary", {}, "All figures of this press"),
      make("table", {class: "plain"}, body)));
  }
}
