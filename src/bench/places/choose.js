/* This place is for choosing: the wishes for a coupon in plain fields, and the coupons that meet them in order. */
import * as talk from "./talk.js";
import {make, button, choice, fillChoice, figureScale, figureWords, numberText, recall, remember, say, trouble, unbroken, withUnit, wordsOf} from "./tools.js";

const busyPause = 700, idlePause = 4000; /* ms between two questions */
const planarMost = 8; /* patterns that are offered first */

export class Choose {
  constructor(section, bench) {
    this.bench = bench;
    this.id = recall("seek", null);
    this.build(section);
    this.ask = talk.repeat(() => this.turn());
    this.ask();
  }

  build(section) {
    const {bench} = this;
    this.conditions = make("div", {class: "conditions"});
    this.patterns = make("div", {class: "ticks"});
    const first = recall("candidates", bench.patterns.filter((one) => one.space === "planar").slice(0, 4).map((one) => one.id));
    const tick = (pattern) => {
      const box = make("input", {type: "checkbox", value: pattern.id});
      box.checked = first.includes(pattern.id);
      return make("label", {title: pattern.words}, box, " ", pattern.id);
    };
    this.patterns.append(...bench.patterns.slice(0, planarMost).map(tick));
    const more = bench.patterns.slice(planarMost);
    const numbers = bench.rows.filter((row) => row.kind === "number" || row.kind === "whole");
    this.vary = choice("vary-key", "Change", numbers.map((row) => [row.key, `${wordsOf(row.key)} (${row.key.split(".")[0]})`]), () => this.setUnit());
    this.vary.select.value = "infill.density";
    const entry = (id, label, value) => {
      const input = make("input", {type: "text", id, value, autocomplete: "off", class: "short"});
      this[id.replace("vary-", "vary_")] = input;
      return make("label", {for: id}, `${label} `, input);
    };
    const range = [entry("vary-from", "from", "8 %"), entry("vary-to", "to", "22 %"), entry("vary-within", "to within", "0.5 %")];
    this.keepSmall = choice("save-figure", "Keep small", bench.figures.filter((one) => !one.argument).map((one) => [one.id, figureWords(one.id)]), () => {});
    this.keepSmall.select.value = "mass";
    this.seeds = make("input", {type: "text", id: "seek-seeds", value: "1", class: "short", autocomplete: "off"});
    this.form = make("form", {class: "form", "aria-label": "what the coupon must do"},
      make("fieldset", {class: "group"}, make("legend", {}, "It must"), this.conditions,
        button("One more condition", () => this.condition({}).querySelector("select").focus())),
      make("fieldset", {class: "group"}, make("legend", {}, "Among these patterns"), this.patterns,
        more.length ? make("details", {}, make("summary", {}, `${more.length} more patterns`), make("div", {class: "ticks"}, more.map(tick))) : null),
      make("fieldset", {class: "group"}, make("legend", {}, "What may change"), make("div", {class: "controls"}, this.vary.element, range)),
      make("fieldset", {class: "group"}, make("legend", {}, "Which is better"), make("div", {class: "controls"}, this.keepSmall.element,
        make("label", {for: "seek-seeds"}, "printing flaws drawn ", this.seeds, " times"))),
      make("p", {class: "note"}, "All else is as the coupon on the form."),
      make("p", {class: "controls"}, make("button", {type: "submit", class: "main"}, "Look for it")));
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.seek();
    });
    for (const one of recall("conditions", [{figure: "force_25", low: "30", high: "45"}])) this.condition(one);
    this.now = make("p", {class: "now", role: "status", id: "seek-now"});
    this.stop = button("Stop", () => this.stopIt(), {hidden: true});
    this.answers = make("ol", {class: "answers", "aria-label": "answers in order"});
    this.file = make("select", {id: "open-target"});
    this.files = make("div", {class: "controls", hidden: true}, make("label", {for: "open-target"}, "Target files of this folder ", this.file),
      button("Look for it as it stands", () => this.seekFile()));
    this.offer(bench.form.targets || []);
    section.append(this.files, make("div", {class: "two even"}, this.form, make("div", {}, make("h3", {}, "Answers"), this.now, this.stop, this.answers)));
  }

  /* List the target files of the folder. */
  offer(names) {
    fillChoice(this.file, names.map((name) => [name, name]));
    this.files.hidden = !names.length;
  }

  setUnit() {
    const row = this.bench.rows.find((one) => one.key === this.vary.select.value);
    for (const name of ["vary_from", "vary_to", "vary_within"]) this[name].placeholder = row.unit || "";
  }

  condition({figure = "force_25", low = "", high = "", place = ""}) {
    const n = this.made = (this.made || 0) + 1, {figures} = this.bench;
    const select = make("select", {id: `must-${n}`, "aria-label": "figure"}, figures.map((one) => make("option", {value: one.id}, figureWords(one.id))));
    select.value = figures.some((one) => one.id === figure) ? figure : figures[0].id;
    const argument = make("input", {type: "text", class: "short", "aria-label": "at this place", placeholder: "6 mm", value: place, autocomplete: "off"});
    const least = make("input", {type: "text", class: "short", "aria-label": "at least", value: low, autocomplete: "off"});
    const most = make("input", {type: "text", class: "short", "aria-label": "at most", value: high, autocomplete: "off"});
    const unit = make("span", {class: "unit"});
    const fit = () => {
      const one = figures.find((row) => row.id === select.value);
      unit.textContent = figureScale(one).unit;
      argument.hidden = !one.argument;
      select.title = one.help;
    };
    select.addEventListener("change", fit);
    const line = make("div", {class: "condition", role: "group", "aria-label": `condition ${n}`}, select, argument, make("span", {class: "pair"}, "at least ", least),
      make("span", {class: "pair"}, "at most ", most), unit,
      button("Drop", () => line.remove(), {"aria-label": `Drop condition ${n}`}));
    line.read = () => ({figure: select.value, place: argument.hidden ? "" : argument.value.trim(), low: least.value.trim(), high: most.value.trim(),
      unit: unit.textContent});
    fit();
    this.conditions.append(line);
    return line;
  }

  /* Return the target as the text of a target file. */
  target() {
    const conditions = [...this.conditions.children].map((line) => line.read());
    const patterns = [...this.patterns.parentElement.querySelectorAll("input:checked")].map((box) => box.value);
    remember("conditions", conditions);
    remember("candidates", patterns);
    const withOwnUnit = (text, unit) => /^[-\d.e]+$/i.test(text) && unit ? `${text} ${unit}` : text;
    const require = {};
    for (const {figure, place, low, high, unit} of conditions) {
      if (!low && !high) continue;
      const bounds = require[place ? `${figure} ${place}` : figure] = {};
      if (low) bounds.at_least = withOwnUnit(low, unit);
      if (high) bounds.at_most = withOwnUnit(high, unit);
    }
    const unit = this.bench.rows.find((row) => row.key === this.vary.select.value)?.unit;
    const range = {from: withOwnUnit(this.vary_from.value.trim(), unit), to: withOwnUnit(this.vary_to.value.trim(), unit)};
    if (this.vary_within.value.trim()) range.within = withOwnUnit(this.vary_within.value.trim(), unit);
    return {candidates: {"infill.pattern": patterns}, vary: {[this.vary.select.value]: range}, require, save: this.keepSmall.select.value,
      seeds: Number(this.seeds.value) || 1};
  }

  seek() {
    return this.begin(() => talk.seek(this.bench.form.values, this.target()));
  }

  seekFile() {
    return this.begin(() => talk.seekFile(this.file.value));
  }

  /* Earlier answers are removed at once, so that nobody takes them for the answer of this search. */
  async begin(ask) {
    this.id = this.signature = null;
    this.answers.replaceChildren();
    this.now.textContent = "It begins.";
    this.now.classList.remove("wrong");
    try {
      const {id} = await ask();
      this.id = id;
      remember("seek", id);
      trouble("");
      say("The bench looks for it.");
      this.ask();
    } catch (error) {
      this.now.textContent = error.message;
      this.now.classList.add("wrong");
    }
  }

  async stopIt() {
    try { await talk.stopSeek(this.id); } catch (error) { trouble(error.message); }
    this.ask();
  }

  async turn() {
    if (this.id === null) return idlePause;
    let found;
    try {
      found = await talk.seekNow(this.id);
    } catch (error) {
      /* a bench that was started again does not know earlier searches */
      if (error.status === 404) {
        this.id = null;
        remember("seek", null);
      }
      return idlePause;
    }
    const busy = found.state === "searching" || found.state === "waiting";
    const words = {searching: "It looks, presses and compares", waiting: "It waits", stopped: "It was stopped", done: "It is done", failed: "It failed"}[found.state] || found.state;
    const text = `${words}${busy && found.share ? `, ${Math.round(100 * found.share)} %` : ""}${found.message ? `: ${found.message}` : "."}`;
    this.now.classList.remove("wrong");
    if (this.now.textContent !== text) this.now.textContent = text;
    this.stop.hidden = !busy;
    const signature = JSON.stringify(found.answers);
    if (signature !== this.signature) {
      this.signature = signature;
      this.answers.replaceChildren(...(found.answers || []).map((answer, i) => this.answer(answer, i)));
      if (!busy) this.bench.pressed();
    }
    return busy ? busyPause : idlePause;
  }

  answer(answer, place) {
    const {shelf} = this.bench;
    const pattern = answer.values["infill.pattern"] || "square";
    const name = [this.bench.patterns.find((one) => one.name === pattern)?.id || pattern, ...Object.entries(answer.values).filter(([key]) => key === this.vary.select.value)
      .map(([key, value]) => `${wordsOf(key)} ${value}`)].join(", ");
    const figures = Object.entries(answer.figures || {}).map(([id, value]) => {
      const scale = figureScale(shelf.figure(id));
      return make("li", {}, `${figureWords(id)} `, make("strong", {}, value === null ? "not reached" : withUnit(scale.factor * value, scale.unit)));
    });
    const remarks = (answer.remarks || []).map((text) => make("li", {}, unbroken(text)));
    const misses = (answer.misses || []).map((miss) => make("li", {class: "miss"}, typeof miss === "string" ? unbroken(miss) : unbroken(`${miss.figure}: ${numberText(miss.value)}`)));
    const file = `answer-${place + 1}.yaml`;
    return make("li", {}, make("strong", {}, unbroken(name)), make("ul", {class: "figures"}, figures, misses),
      remarks.length ? make("ul", {class: "cautions"}, remarks) : null,
      make("p", {class: "links"}, button("On the form", () => {
        this.bench.form.setValues(answer.values);
        location.hash = "#coupon";
      }, {"aria-label": `Put answer ${place + 1} on the form`}), " ",
      button(`Keep as ${file}`, (event) => this.keep(answer, file, event.target)), " ",
      answer.key ? [make("a", {href: talk.meshLink(answer.key, "3mf"), download: true}, "Mesh (3MF)"), " ",
        make("a", {href: talk.meshLink(answer.key, "stl"), download: true}, "Mesh (STL)"), " ",
        make("a", {href: `#shelf/${answer.key}`}, "On the shelf"), " "] : null,
      make("a", {href: talk.reportLink(), target: "_blank", rel: "noopener"}, "Report")));
  }

  async keep(answer, name, from) {
    try {
      const {path} = await talk.save({kind: "case", name, values: answer.values});
      from.textContent = `Kept as ${path}`;
      say(`Kept as ${path}.`);
      this.bench.form.refreshFiles();
    } catch (error) {
      trouble(error.message);
    }
  }
}
