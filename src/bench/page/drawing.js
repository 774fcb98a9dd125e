/* This file draws struts on a canvas, between platens: planar coupons as seen from the front, spatial ones turned by drag or arrow keys.
   Lines come flat, seven numbers a piece: x, y, z of both ends and the thickness, in mm; y is the way it is pressed. */
import {make, colour, onThemeChange} from "./tools.js";
import {inFrames} from "./frames.js";

const platenShare = 0.035; /* thickness of a platen / size of the picture */
const turnStep = 8, tiltMost = 85; /* degrees */
const narrow = 900; /* px: a page where the picture stays above what is typed */
const outlineShare = 0.16; /* of a strut's thickness, both sides together */
const shadeSteps = 12;
const rimBehind = 0.6; /* of a strut's thickness */
const finePieces = 9000; /* more of them are drawn as thin lines */
const fadeMost = 0.55; /* share of the ground's colour at the far end */

const radians = (degrees) => degrees * Math.PI / 180;

/* Mix "#rrggbb" with a share of another colour. */
function mixed(one, other, share) {
  const part = (text, at) => parseInt(text.slice(at, at + 2), 16);
  return `rgb(${[1, 3, 5].map((at) => Math.round((1 - share) * part(one, at) + share * part(other, at))).join(" ")})`;
}

/* Return the place of a point in the picture: to the right, upwards, towards the reader. */
function projection(yaw, tilt) {
  const cy = Math.cos(radians(yaw)), sy = Math.sin(radians(yaw)), ct = Math.cos(radians(tilt)), st = Math.sin(radians(tilt));
  return (x, y, z) => {
    const right = cy * x + sy * z, back = cy * z - sy * x;
    return [right, ct * y + st * back, st * y - ct * back];
  };
}

export const isFlat = (lines) => {
  for (let i = 2; i < lines.length; i += 7) if (Math.abs(lines[i]) > 1e-9 || Math.abs(lines[i + 3]) > 1e-9) return false;
  return true;
};

/* Return the size that the lines fill, for a shape that does not give the size of the coupon. */
export function boundsOf(lines) {
  const size = [0, 0, 0];
  for (let i = 0; i < lines.length; i += 7) {
    for (let k = 0; k < 3; k++) size[k] = Math.max(size[k], lines[i + k], lines[i + 3 + k]);
  }
  return size;
}

export class Drawing {
  constructor(box, label) {
    this.canvas = make("canvas", {role: "img", "aria-label": label, class: "struts"});
    this.box = box;
    this.label = label;
    this.yaw = -32;
    this.tilt = 22;
    box.append(this.canvas);
    new ResizeObserver(() => this.later()).observe(box);
    onThemeChange(this.canvas, () => this.draw());
    this.canvas.addEventListener("pointerdown", (event) => this.grab(event));
    this.canvas.addEventListener("keydown", (event) => this.key(event));
  }

  /* `shape`: {kind, size_mm, lines, shortening_mm}; `words` become the name that a screen reader reads. */
  show(shape, words) {
    const same = this.shape && String(this.shape.size_mm) === String(shape.size_mm);
    this.shape = shape;
    if (!same) this.reach = [0, shape.size_mm[0]];
    const {lines} = shape;
    for (let i = 0; i < lines.length; i += 7) {
      this.reach[0] = Math.min(this.reach[0], lines[i], lines[i + 3]);
      this.reach[1] = Math.max(this.reach[1], lines[i], lines[i + 3]);
    }
    this.turns = shape.kind !== "planar";
    this.canvas.setAttribute("aria-label", `${words || this.label}${this.turns ? ". Arrow keys turn it." : ""}`);
    this.canvas.setAttribute("role", this.turns ? "application" : "img");
    if (this.turns) this.canvas.setAttribute("tabindex", "0"); else this.canvas.removeAttribute("tabindex");
    this.canvas.classList.toggle("turns", this.turns);
    this.later();
  }

  later() {
    inFrames(this, this.steps());
  }

  *steps() {
    this.draw();
    yield 2 * (this.shape?.lines.length || 0) / 7;
  }

  grab(event) {
    if (!this.turns) return;
    const from = {x: event.clientX, y: event.clientY, yaw: this.yaw, tilt: this.tilt};
    const move = (now) => this.turnTo(from.yaw - 0.5 * (now.clientX - from.x), from.tilt + 0.5 * (now.clientY - from.y));
    this.canvas.setPointerCapture(event.pointerId);
    this.canvas.addEventListener("pointermove", move);
    const leave = () => this.canvas.removeEventListener("pointermove", move);
    this.canvas.addEventListener("pointerup", leave, {once: true});
    this.canvas.addEventListener("pointercancel", leave, {once: true});
  }

  key(event) {
    const turn = {ArrowLeft: [turnStep, 0], ArrowRight: [-turnStep, 0], ArrowUp: [0, turnStep], ArrowDown: [0, -turnStep]}[event.key];
    if (!turn || !this.turns) return;
    event.preventDefault();
    this.turnTo(this.yaw + turn[0], this.tilt + turn[1]);
  }

  turnTo(yaw, tilt) {
    this.yaw = yaw % 360;
    this.tilt = Math.max(-tiltMost, Math.min(tiltMost, tilt));
    this.later();
  }

  draw() {
    const width = Math.floor(this.box.clientWidth);
    if (!this.shape || width < 40) return;
    const place = this.turns ? projection(this.yaw, this.tilt) : (x, y, z) => [x, y, z];
    const frame = this.frame(place);
    const most = innerWidth <= narrow ? 230 : Math.min(420, Math.max(180, 0.6 * innerHeight));
    const margin = platenShare * most + 6;
    const scale = Math.min((width - 12) / (frame.right - frame.left), (most - 2 * margin) / (frame.top - frame.bottom));
    const high = Math.round(scale * (frame.top - frame.bottom) + 2 * margin);
    const ratio = Math.min(2, Math.max(1, devicePixelRatio || 1));
    this.canvas.width = width * ratio;
    this.canvas.height = high * ratio;
    this.canvas.style.height = `${high}px`;
    const ink = this.canvas.getContext("2d");
    ink.setTransform(ratio, 0, 0, ratio, 0, 0);
    ink.lineCap = ink.lineJoin = "round";
    const left = (width - scale * (frame.right + frame.left)) / 2, low = high - margin + scale * frame.bottom;
    this.at = (x, y, z) => {
      const [right, up, near] = place(x, y, z);
      return [left + scale * right, low - scale * up, near];
    };
    this.ink = ink;
    this.scale = scale;
    this.thick = platenShare * most;
    if (this.turns) this.drawTurned(); else this.drawFlat();
  }

  /* Find the box that the picture must hold, the same for every state of one coupon as far as it has bulged until now. */
  frame(place) {
    const [, height, depth] = this.shape.size_mm, [from, to] = this.reach;
    const frame = {left: Infinity, right: -Infinity, bottom: Infinity, top: -Infinity};
    for (const x of [from, to]) for (const y of [0, height]) for (const z of this.turns ? [0, depth] : [0]) {
      const [right, up] = place(x, y, z);
      frame.left = Math.min(frame.left, right);
      frame.right = Math.max(frame.right, right);
      frame.bottom = Math.min(frame.bottom, up);
      frame.top = Math.max(frame.top, up);
    }
    return frame;
  }

  drawFlat() {
    const {ink, scale, shape} = this, top = shape.size_mm[1] - (shape.shortening_mm || 0);
    const [x0, y0] = this.at(this.reach[0], 0, 0), [x1, y1] = this.at(this.reach[1], top, 0);
    ink.fillStyle = colour("--platen");
    ink.fillRect(x0 - 4, y0, x1 - x0 + 8, this.thick);
    ink.fillRect(x0 - 4, y1 - this.thick, x1 - x0 + 8, this.thick);
    if (!shape.lines.length) {
      ink.fillStyle = colour("--strut");
      ink.fillRect(x0, y1, x1 - x0, y0 - y1);
      return;
    }
    const byThickness = new Map();
    const {lines} = shape;
    for (let i = 0; i < lines.length; i += 7) {
      const thickness = lines[i + 6];
      if (!byThickness.has(thickness)) byThickness.set(thickness, new Path2D());
      const path = byThickness.get(thickness);
      const [ax, ay] = this.at(lines[i], lines[i + 1], 0), [bx, by] = this.at(lines[i + 3], lines[i + 4], 0);
      path.moveTo(ax, ay);
      path.lineTo(bx, by);
    }
    for (const [share, name] of [[1, "--rim"], [1 - outlineShare, "--strut"]]) {
      ink.strokeStyle = colour(name);
      for (const [thickness, path] of byThickness) {
        ink.lineWidth = Math.max(share < 1 ? 0.6 : 1.2, share * thickness * scale);
        ink.stroke(path);
      }
    }
  }

  drawTurned() {
    const {shape} = this, [width, height, depth] = shape.size_mm, top = height - (shape.shortening_mm || 0);
    const from = this.reach[0], to = this.reach[1];
    const face = (y) => [[from, y, 0], [to, y, 0], [to, y, depth], [from, y, depth]];
    const above = this.tilt > 0;
    this.face(face(above ? 0 : top), 0.55);
    if (shape.kind === "solid" && !shape.lines.length) this.block(width, top, depth);
    else this.strokes(shape.kind === "panel" && shape.lines.every((value, i) => i % 7 !== 1 || value === 0) ? this.raised(top) : shape.lines);
    this.face(face(above ? top : 0), 0.16);
  }

  face(corners, share) {
    const {ink} = this;
    ink.beginPath();
    for (const corner of corners) ink.lineTo(...this.at(...corner).slice(0, 2));
    ink.closePath();
    ink.globalAlpha = share;
    ink.fillStyle = colour("--platen");
    ink.fill();
    ink.globalAlpha = 1;
    ink.strokeStyle = colour("--platen");
    ink.lineWidth = 1.5;
    ink.stroke();
  }

  block(width, top, depth) {
    const sides = [[0, 0, width, 0], [width, 0, width, depth], [width, depth, 0, depth], [0, depth, 0, 0]];
    const near = (side) => this.at((side[0] + side[2]) / 2, 0, (side[1] + side[3]) / 2)[2];
    sides.sort((a, b) => near(a) - near(b));
    const {ink} = this;
    ink.fillStyle = colour("--strut");
    ink.strokeStyle = colour("--rim");
    for (const [x0, z0, x1, z1] of sides.slice(2)) {
      ink.beginPath();
      for (const corner of [[x0, 0, z0], [x1, 0, z1], [x1, top, z1], [x0, top, z0]]) ink.lineTo(...this.at(...corner).slice(0, 2));
      ink.closePath();
      ink.fill();
      ink.stroke();
    }
  }

  /* Draw walls that stand along the load: their lines at both faces, and an edge at each end. */
  raised(top) {
    const {lines} = this.shape, all = [];
    for (let i = 0; i < lines.length; i += 7) {
      const [ax, , az, bx, , bz, thickness] = lines.slice(i, i + 7);
      all.push(ax, 0, az, bx, 0, bz, thickness, ax, top, az, bx, top, bz, thickness,
        ax, 0, az, ax, top, az, 0.3 * thickness, bx, 0, bz, bx, top, bz, 0.3 * thickness);
    }
    return all;
  }

  /* Find the pieces as they are seen, five numbers each (both ends in px and the depth in mm), and the range of their depths. */
  seen(lines) {
    const count = lines.length / 7, ends = new Float32Array(5 * count);
    let far = Infinity, near = -Infinity;
    for (let s = 0; s < count; s++) {
      const i = 7 * s, a = this.at(lines[i], lines[i + 1], lines[i + 2]), b = this.at(lines[i + 3], lines[i + 4], lines[i + 5]);
      const depth = (a[2] + b[2]) / 2;
      ends.set([a[0], a[1], b[0], b[1], depth], 5 * s);
      far = Math.min(far, depth);
      near = Math.max(near, depth);
    }
    return {count, ends, far, near};
  }

  /* Draw the pieces from back to front; far ones fade into the ground. The rim of a piece lies behind the pieces that it joins and over
     those that it passes. */
  strokes(lines) {
    const {ink, scale} = this, {count, ends, far, near} = this.seen(lines);
    const ground = colour("--picture");
    const shades = ["--rim", "--strut"].map((name) => Array.from({length: shadeSteps + 1}, (_, i) => mixed(colour(name), ground, fadeMost * (1 - i / shadeSteps))));
    const shadeOf = (s) => Math.round(shadeSteps * (ends[5 * s + 4] - far) / (near - far || 1));
    if (count > finePieces) {
      this.hairlines(count, ends, shadeOf, shades[1]);
      return;
    }
    const order = new Uint32Array(2 * count), depth = new Float32Array(2 * count);
    for (let s = 0; s < count; s++) {
      order[2 * s] = 2 * s;
      order[2 * s + 1] = 2 * s + 1;
      depth[2 * s] = ends[5 * s + 4] - rimBehind * lines[7 * s + 6];
      depth[2 * s + 1] = ends[5 * s + 4];
    }
    order.sort((p, q) => depth[p] - depth[q]);
    for (const at of order) {
      const s = at >> 1, fill = at & 1, wide = lines[7 * s + 6] * scale;
      ink.lineCap = fill ? "round" : "butt";
      ink.strokeStyle = shades[fill][shadeOf(s)];
      ink.lineWidth = fill ? Math.max(0.6, (1 - 2 * outlineShare) * wide) : Math.max(1.2, wide);
      ink.beginPath();
      ink.moveTo(ends[5 * s], ends[5 * s + 1]);
      ink.lineTo(ends[5 * s + 2], ends[5 * s + 3]);
      ink.stroke();
    }
  }

  /* Draw thousands of pieces, such as the mesh of walls, as thin lines, with one path for each shade. */
  hairlines(count, ends, shadeOf, shades) {
    const paths = shades.map(() => new Path2D());
    for (let s = 0; s < count; s++) {
      const path = paths[shadeOf(s)];
      path.moveTo(ends[5 * s], ends[5 * s + 1]);
      path.lineTo(ends[5 * s + 2], ends[5 * s + 3]);
    }
    this.ink.lineWidth = 1;
    paths.forEach((path, i) => {
      this.ink.strokeStyle = shades[i];
      this.ink.stroke(path);
    });
  }
}

/* This is a small picture of the coupon between its platens: it shows which way the coupon is printed and pressed. */
export class DirectionSketch {
  constructor(box) {
    this.canvas = make("canvas", {role: "img", class: "sketch", "aria-label": "sketch of the coupon between its platens"});
    this.canvas.width = 2 * 200;
    this.canvas.height = 2 * 180;
    box.append(this.canvas);
    onThemeChange(this.canvas, () => this.draw());
  }

  show(shape, words) {
    this.shape = shape;
    this.canvas.setAttribute("aria-label", `sketch of the coupon between its platens: ${words}`);
    this.draw();
  }

  draw() {
    if (!this.shape) return;
    const ink = this.canvas.getContext("2d");
    ink.setTransform(2, 0, 0, 2, 0, 0);
    ink.clearRect(0, 0, 200, 180);
    ink.lineJoin = ink.lineCap = "round";
    const [width, height, depth] = this.shape.size_mm, largest = Math.max(width, height, depth);
    const place = projection(-28, 24), size = 84 / largest;
    const [cx, cy] = place(width / 2, height / 2, depth / 2);
    this.at = (x, y, z) => {
      const [right, up] = place(x, y, z);
      return [100 + size * (right - cx), 104 - size * (up - cy)];
    };
    this.ink = ink;
    this.platen(-0.1 * largest, 0, width, depth, 0.12 * largest);
    this.body(width, height, depth);
    /* the pattern shows through the upper platen where it lies on top */
    this.ink.globalAlpha = this.shape.kind === "panel" ? 0.35 : 1;
    this.platen(height, height + 0.1 * largest, width, depth, 0.12 * largest);
    this.ink.globalAlpha = 1;
    const [x, y] = this.at(width / 2, height + 0.1 * largest, depth / 2);
    this.arrow(x, y - 34, x, y - 4);
  }

  outline(corners, fill, line) {
    const {ink} = this;
    ink.beginPath();
    for (const corner of corners) ink.lineTo(...this.at(...corner));
    ink.closePath();
    if (fill) {
      ink.fillStyle = fill;
      ink.fill();
    }
    ink.strokeStyle = line;
    ink.lineWidth = 1;
    ink.stroke();
  }

  platen(low, high, width, depth, over) {
    const [a, b, c, d] = [-over, width + over, -over, depth + over], fill = colour("--platen"), line = colour("--rim");
    this.outline([[a, high, c], [b, high, c], [b, high, d], [a, high, d]], fill, line);
    this.outline([[a, low, c], [b, low, c], [b, high, c], [a, high, c]], fill, line);
    this.outline([[a, low, c], [a, low, d], [a, high, d], [a, high, c]], fill, line);
  }

  /* Draw front, side and top of the coupon: the pattern on one of them, the printed layers as lines on the others. */
  body(width, height, depth) {
    const {kind, lines} = this.shape, fill = colour("--picture"), line = colour("--rim");
    this.outline([[0, 0, 0], [0, 0, depth], [0, height, depth], [0, height, 0]], fill, line);
    this.outline([[0, height, 0], [width, height, 0], [width, height, depth], [0, height, depth]], fill, line);
    this.outline([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]], kind === "solid" ? colour("--strut") : fill, line);
    const {ink} = this;
    ink.strokeStyle = line;
    ink.globalAlpha = 0.35;
    ink.lineWidth = 0.7;
    for (let i = 1; i < 8 && kind === "planar"; i++) {
      const z = i * depth / 8;
      this.path([[0, 0, z], [0, height, z], [width, height, z]]);
    }
    for (let i = 1; i < 8 && kind === "panel"; i++) {
      const y = i * height / 8;
      this.path([[0, y, depth], [0, y, 0], [width, y, 0]]);
    }
    ink.globalAlpha = 1;
    ink.strokeStyle = colour("--strut");
    ink.lineWidth = 1.4;
    ink.beginPath();
    for (let i = 0; i < lines.length; i += 7) {
      const ends = kind === "panel" ? [[lines[i], height, lines[i + 2]], [lines[i + 3], height, lines[i + 5]]]
        : kind === "planar" ? [[lines[i], lines[i + 1], 0], [lines[i + 3], lines[i + 4], 0]]
          : [[lines[i], lines[i + 1], lines[i + 2]], [lines[i + 3], lines[i + 4], lines[i + 5]]];
      ink.moveTo(...this.at(...ends[0]));
      ink.lineTo(...this.at(...ends[1]));
    }
    ink.stroke();
  }

  path(points) {
    const {ink} = this;
    ink.beginPath();
    for (const point of points) ink.lineTo(...this.at(...point));
    ink.stroke();
  }

  arrow(x0, y0, x1, y1) {
    const {ink} = this;
    ink.strokeStyle = ink.fillStyle = colour("--accent");
    ink.lineWidth = 3;
    ink.beginPath();
    ink.moveTo(x0, y0);
    ink.lineTo(x1, y1 - 6);
    ink.stroke();
    ink.beginPath();
    ink.moveTo(x1, y1);
    ink.lineTo(x1 - 6, y1 - 9);
    ink.lineTo(x1 + 6, y1 - 9);
    ink.fill();
  }
}
