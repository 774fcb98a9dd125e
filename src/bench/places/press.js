/* This place shows the present press and the queue: the coupon folds as its states are accepted, beside its growing curve. */
import * as talk from "./talk.js";
import {make, button, numberText, say, trouble, unbroken, secondsText} from "./tools.js";
import {Drawing, boundsOf, isFlat} from "./drawing.js";
import {Chart} from "./curves.js";

const busyPause = 300, idlePause = 2500; /* ms between two questions */
const active = (press) => press.state === "waiting" || press.state === "pressing";
const stateWords = {waiting: "waits", offered: "was under the press when the bench was killed", pressing: "is pressed", stopped: "was stopped", done: "is done", failed: "failed"};

export class Press {
  constructor(section, bench) {
    this.bench = bench;
    this.states = new Map(); /* id -> state that was announced last */
    this.curve = [];
    this.build(section);
    this.ask = talk.repeat(() => this.turn());
    this.ask();
  }

  build(section) {
    this.none = make("p", {}, "Nothing is pressed and nothing waits. ", make("a", {href: "#coupon"}, "Describe a coupon"), " and press it.");
    this.queue = make("ul", {class: "queue", "aria-label": "coupons that are pressed or wait"});
    this.picture = make("div", {class: "picture"});
    this.chartBox = make("div", {});
    this.title = make("h3", {id: "watched-name"});
    this.now = make("p", {class: "now", id: "now"});
    this.words = make("p", {id: "in-words"});
    this.cautions = make("ul", {class: "cautions"});
    this.onward = make("p", {class: "controls"});
    this.board = make("div", {class: "board"}, this.picture);
    this.pictures = make("div", {class: "two even", hidden: true}, this.board, this.chartBox);
    this.watch = make("div", {class: "watch", hidden: true}, this.title, this.now, this.pictures, this.words, this.onward, this.cautions);
    section.append(this.none, this.watch, this.queue);
  }

  /* The number in the address is the press that is watched; without one, the first that is running. */
  select(id) {
    this.chosen = id;
    this.ask();
  }

  async turn() {
    let all;
    try {
      all = (await talk.presses()).presses;
    } catch (error) {
      trouble(error.message);
      this.lost = true;
      return idlePause;
    }
    if (this.lost) trouble("");
    this.lost = false;
    this.announce(all);
    this.list(all);
    const watched = all.find((one) => one.id === this.chosen) || all.find((one) => one.state === "pressing") || all[all.length - 1];
    this.watch.hidden = !watched;
    this.none.hidden = all.length > 0;
    const from = performance.now();
    if (watched) await this.follow(watched);
    const took = performance.now() - from;
    this.bench.count(all.filter(active).length);
    /* large states take long: at most half of the time is spent on them */
    return all.some(active) ? Math.max(busyPause, 2 * took) : idlePause;
  }

  announce(all) {
    for (const press of all) {
      const before = this.states.get(press.id);
      if (before !== undefined && before !== press.state) {
        say(`${press.name} ${stateWords[press.state]}.`);
        if (press.state === "done" || press.state === "stopped") this.bench.pressed();
      }
      this.states.set(press.id, press.state);
    }
  }

  list(all) {
    const open = (press) => active(press) || press.state === "offered";
    const shown = [...all].sort((a, b) => open(b) - open(a) || b.id - a.id).slice(0, 40);
    const signature = JSON.stringify(shown.map(({id, state}) => [id, state]));
    if (signature !== this.signature) {
      const focused = document.activeElement?.id;
      this.queue.replaceChildren(...shown.map((press) => this.entry(press)));
      if (focused) document.getElementById(focused)?.focus();
      this.signature = signature;
    }
    for (const press of shown) {
      const bar = document.getElementById(`bar-${press.id}`), text = document.getElementById(`state-${press.id}`);
      if (bar) bar.value = press.share;
      text.textContent = this.progress(press);
    }
  }

  progress(press) {
    const share = press.state === "pressing" ? `, ${Math.round(100 * press.share)} %` : "";
    const time = press.seconds >= 1 ? `, ${secondsText(press.seconds)}` : "", expected = press.expected_seconds || 0;
    /* the time left, once the press reports it; before that the range of nine of ten such presses */
    const forecast = active(press) && press.left ? `, ${press.left}`
      : active(press) && expected >= 1 ? `${time ? " of" : ","} ${press.expected}${time ? "" : " of pressing"}` : "";
    const seeds = active(press) && press.seeds > 1 ? `, ${press.seeds} seeds of its flaws` : "";
    return `${stateWords[press.state]}${share}${press.steps ? `, ${press.steps} states` : ""}${seeds}${time}${forecast}${press.message ? `: ${press.message}` : ""}`;
  }

  entry(press) {
    return make("li", {class: press.state}, make("a", {href: `#press/${press.id}`, id: `watch-${press.id}`}, unbroken(press.name)), " ",
      make("span", {id: `state-${press.id}`, class: "note"}),
      active(press) ? make("progress", {id: `bar-${press.id}`, max: "1", value: "0", "aria-label": `progress of ${press.name}`}) : null,
      press.state === "offered" ? [button("Press again", () => this.again(press), {id: `again-${press.id}`, "aria-label": `Press ${press.name} again`}), " ",
        button("Forget", () => this.stop(press), {id: `stop-${press.id}`, "aria-label": `Forget ${press.name}`})] : null,
      active(press) ? button("Stop", () => this.stop(press), {id: `stop-${press.id}`, "aria-label": `Stop ${press.name}`}) : null);
  }

  async stop(press) {
    try {
      await talk.stopPress(press.id);
    } catch (error) {
      trouble(error.message);
    }
    this.ask();
  }

  async again(press) {
    try {
      await talk.pressAgain(press.id);
    } catch (error) {
      trouble(error.message);
    }
    this.ask();
  }

  /* Update the watched press: the part of its curve that is not known yet, and the state accepted last. */
  async follow(press) {
    if (this.watched !== press.id) {
      this.watched = press.id;
      this.curve = [];
      this.band = [];
      this.seed = undefined;
      this.frame = -1;
      this.ended = false;
      this.size = null;
    }
    if (this.ended) return;
    let news;
    try {
      news = await talk.pressFrom(press.id, this.curve.length);
    } catch (error) {
      this.now.textContent = error.message;
      return;
    }
    /* at the end the curve may be that of another seed, so it is read from its start */
    if (this.seed !== undefined && news.seed !== this.seed && this.curve.length) {
      this.curve = [];
      news = await talk.pressFrom(press.id, 0).catch(() => news);
    }
    this.seed = news.seed;
    this.band = news.band || [];
    this.curve.push(...(news.curve || []));
    this.ended = !active(news);
    this.show(news);
  }

  show(press) {
    this.chart ||= new Chart(this.chartBox, {label: "force over shortening of the coupon under the platen"});
    this.drawing ||= new Drawing(this.picture, "coupon under the platen");
    this.title.textContent = unbroken(press.name);
    const last = this.curve[this.curve.length - 1];
    const now = last ? `${numberText(last[0], 3)} mm shortening, ${numberText(last[1], 3)} N` : "no state yet";
    const seed = press.seeds > 1 && press.seed >= 0 ? `; the picture is that of flaw seed ${press.seed}${this.band.length ? `, the pale band holds all ${press.seeds}` : ""}` : "";
    this.now.textContent = unbroken(`It ${this.progress(press)}: ${now}${seed}`);
    const {frame} = press;
    if (frame && frame.lines && (frame.lines.length || frame.size_mm) && this.frame !== frame.step) {
      this.frame = frame.step;
      this.size ||= frame.size_mm || press.size_mm || boundsOf(frame.lines);
      const shortening = frame.shortening_mm ?? this.curve[Math.min(frame.step, this.curve.length - 1)]?.[0] ?? 0;
      this.drawing.show({kind: frame.kind || press.kind || (isFlat(frame.lines) ? "planar" : "spatial"), size_mm: this.size, lines: frame.lines,
        shortening_mm: shortening}, `coupon at ${now}`);
    }
    /* before its first state there is nothing to draw, and the picture still shows another coupon */
    this.board.hidden = this.frame < 0;
    this.pictures.hidden = !this.curve.length;
    const xs = this.curve.map(([x]) => x), ys = this.curve.map(([, y]) => y);
    for (const [x, , high] of this.band) {
      xs.push(x);
      ys.push(high);
    }
    this.chart.show([{points: this.curve, spread: this.band, colour: "--line-0", width: 2.5}], {x: "shortening [mm]", y: "force [N]"},
      {x: 1.05 * Math.max(0.01, ...xs), y: 1.08 * Math.max(0.001, ...ys)});
    this.words.textContent = unbroken(press.in_words || "");
    this.cautions.replaceChildren(...(press.cautions || []).map((text) => make("li", {}, unbroken(text))));
    this.onward.replaceChildren(...(press.key ? [make("a", {href: `#shelf/${press.key}`, class: "step"}, "See it on the shelf"),
      make("a", {href: talk.reportLink(), target: "_blank", rel: "noopener", class: "step"}, "Report of the folder")] : []));
  }
}
