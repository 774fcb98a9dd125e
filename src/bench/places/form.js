/* This place shows the coupon in a form made from the parameter rows, with its network drawn while the user types. */
import * as talk from "./talk.js";
import {make, button, fillChoice, quietly, recall, remember, say, trouble, unbroken, wordsOf} from "./tools.js";
import {Drawing, DirectionSketch} from "./drawing.js";

/* Most coupons are described by these rows; the other rows are in their groups below. */
const usual = ["coupon.width", "coupon.height", "coupon.depth", "infill.pattern", "infill.density", "infill.angle", "infill.layers", "infill.cell_size",
  "infill.strut_diameter",
  "bead.width", "bead.walls", "material.filament", "material.modulus", "platens.hold", "press.direction", "press.strain", "press.load_limit",
  "press.unload", "flaws.seed", "press.seeds"];
const quiet = 60; /* ms from the last letter to the question to the server */

export class Form {
  constructor(section, bench) {
    this.section = section;
    this.bench = bench;
    this.fields = new Map();
    this.values = recall("values", {});
    this.look = quietly(quiet, () => this.ask());
    this.build();
    this.setValues(this.values);
  }

  /* ---- making ---- */

  build() {
    const {rows} = this.bench;
    this.lists = [];
    const groups = new Map();
    for (const row of rows) {
      const name = usual.includes(row.key) ? "usual" : row.group || row.key.split(".")[0];
      if (!groups.has(name)) groups.set(name, []);
      groups.get(name).push(row);
    }
    groups.get("usual")?.sort((a, b) => usual.indexOf(a.key) - usual.indexOf(b.key));
    this.form = make("form", {class: "form", id: "coupon-form", novalidate: true, "aria-label": "coupon"});
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.press();
    });
    this.form.addEventListener("input", () => this.changed());
    this.groups = [];
    const order = ["usual", ...[...groups.keys()].filter((name) => name !== "usual")];
    for (const name of order) if (groups.has(name)) this.form.append(this.group(name, groups.get(name)));
    this.form.append(...this.lists);
    this.buildAside();
    this.section.append(this.fileLine(), make("div", {class: "two"}, this.form, this.side));
  }

  group(name, rows) {
    const grid = make("div", {class: "fields"}, rows.map((row) => this.field(row)));
    const aside = make("div", {class: "fields"});
    const asideBox = make("details", {class: "aside", hidden: true}, make("summary", {}, ""), aside);
    const count = make("span", {class: "note"});
    const box = name === "usual" ? make("fieldset", {class: "group"}, make("legend", {}, "Most coupons are described by these"), grid, asideBox)
      : make("details", {class: "group"}, make("summary", {}, `More of the ${name} `, count), grid, asideBox);
    this.groups.push({box, grid, aside, asideBox, count, rows});
    return box;
  }

  field(row) {
    const id = `field-${row.key}`, help = `${id}-help`, note = `${id}-note`;
    const described = {id, name: row.key, "aria-describedby": `${note} ${help}`, autocomplete: "off", spellcheck: "false"};
    const input = this.input(row, described);
    const field = make("div", {class: "field"},
      make("label", {for: id}, usual.includes(row.key) ? `${row.key.split(".")[0]} ${wordsOf(row.key)}` : wordsOf(row.key)),
      make("span", {class: "entry"}, input, row.unit && row.unit !== "-" ? make("span", {class: "unit"}, row.unit) : null),
      make("small", {class: "note", id: note}), make("small", {class: "help", id: help}, `${row.help}. ${this.valid(row)}`));
    this.fields.set(row.key, {row, input, field, note: field.querySelector(".note")});
    return field;
  }

  valid(row) {
    return row.kind === "choice" ? "" : unbroken(`Valid: ${row.range}.`);
  }

  input(row, described) {
    if (row.key === "infill.pattern") return this.patterns(row, described);
    if (row.kind === "choice") {
      return make("select", described, make("option", {value: ""}, `${row.default} (default)`),
        row.choices.filter((one) => one !== row.default).map((one) => make("option", {value: one}, one)));
    }
    const list = row.kind === "text" && row.choices.length ? `${described.id}-list` : row.kind === "file" ? "files-here" : null;
    if (row.kind === "text" && list) {
      this.lists.push(make("datalist", {id: list}, row.choices.map((value) => make("option", {value}))));
    }
    return make("input", {...described, type: "text", placeholder: row.default === "not given" ? "" : row.default, list});
  }

  patterns(row, described) {
    const select = make("select", described, make("option", {value: ""}, `${row.default} (default)`));
    for (const [space, words] of [["planar", "in the plane, extruded or in layers"], ["spatial", "in space"]]) {
      const group = make("optgroup", {label: words});
      for (const pattern of this.bench.patterns.filter((one) => one.space === space)) {
        group.append(make("option", {value: pattern.id}, `${pattern.id}: ${pattern.words}`));
      }
      if (group.children.length) select.append(group);
    }
    for (const other of row.choices.filter((one) => !this.bench.patterns.some(({id, name}) => id === one || name === one))) {
      select.append(make("option", {value: other}, other));
    }
    return select;
  }

  fileLine() {
    this.files = make("datalist", {id: "files-here"});
    this.open = make("select", {id: "open-file"});
    const opened = () => this.openFile(this.open.value);
    this.refreshFiles();
    this.plan = make("select", {id: "open-plan"});
    this.plans = make("span", {class: "controls", hidden: true}, make("label", {for: "open-plan"}, "Plans ", this.plan),
      button("Press its coupons", () => this.pressPlan()));
    return make("div", {class: "controls"}, this.files,
      make("label", {for: "open-file"}, "Case files of this folder ", this.open),
      button("Put on the form", opened), button("Empty the form", () => this.setValues({})), this.plans);
  }

  buildAside() {
    this.picture = make("div", {class: "picture"});
    this.facts = make("dl", {class: "facts"});
    this.forecast = make("p", {class: "forecast", id: "forecast"});
    this.direction = make("p", {class: "note"});
    this.sketch = make("div", {class: "sketch-box"});
    this.cautions = make("ul", {class: "cautions"});
    this.error = make("p", {class: "caution", id: "form-error", hidden: true});
    this.yaml = make("pre", {tabindex: "0", role: "region", "aria-label": "case file"});
    this.name = make("input", {type: "text", id: "coupon-name", autocomplete: "off", maxlength: "60", placeholder: "named by its settings"});
    this.saveName = make("input", {type: "text", id: "case-name", autocomplete: "off", placeholder: "foot.yaml"});
    this.go = make("button", {type: "submit", form: "coupon-form", class: "main", id: "press-this"}, "Press this coupon");
    this.side = make("div", {class: "side"}, make("div", {class: "board"}, this.picture),
      make("div", {class: "way"}, this.sketch, this.direction), this.error, this.forecast,
      make("div", {class: "controls"}, make("label", {for: "coupon-name"}, "Its name ", this.name), this.go), this.facts, this.cautions,
      make("details", {}, make("summary", {}, "The case file"), this.yaml,
        make("div", {class: "controls"}, make("label", {for: "case-name"}, "Keep it in the folder as ", this.saveName),
          button("Keep", () => this.keep()))));
    this.drawing = new Drawing(this.picture, "network of the coupon");
    this.direct = new DirectionSketch(this.sketch);
  }

  /* ---- values ---- */

  changed() {
    this.values = {};
    for (const [key, {input}] of this.fields) if (input.value.trim()) this.values[key] = input.value.trim();
    remember("values", this.values);
    this.look();
  }

  setValues(values) {
    for (const [key, {input}] of this.fields) {
      const given = values[key] ?? "", pattern = key === "infill.pattern" && this.bench.patterns.find(({name}) => name === given);
      const text = pattern ? pattern.id : given;
      if (input.tagName === "SELECT" && text && ![...input.options].some((one) => one.value === text)) {
        input.append(make("option", {value: text}, text));
      }
      input.value = text;
    }
    this.changed();
  }

  async ask() {
    this.asking?.abort();
    const {signal} = this.asking = new AbortController();
    try {
      const answer = await talk.look(this.values, signal);
      this.show(answer);
    } catch (error) {
      if (error.name !== "AbortError") this.refuse(error);
    }
  }

  refuse(error) {
    this.clearErrors();
    this.error.textContent = error.message;
    this.error.hidden = false;
    this.go.disabled = true;
    const field = this.fields.get(error.key);
    if (field) {
      field.field.classList.add("wrong");
      field.input.setAttribute("aria-invalid", "true");
      field.note.textContent = error.message;
    }
    say(error.message);
  }

  clearErrors() {
    this.error.hidden = true;
    this.go.disabled = false;
    for (const {field, input} of this.fields.values()) {
      field.classList.remove("wrong");
      input.removeAttribute("aria-invalid");
    }
  }

  show(answer) {
    this.clearErrors();
    this.answer = answer;
    this.drawing.show({...answer, shortening_mm: 0}, `network of the coupon, ${answer.size_mm.map((size) => size).join(" by ")} mm`);
    this.direct.show(answer, answer.direction);
    this.direction.textContent = unbroken(answer.direction);
    this.facts.replaceChildren(...answer.facts.flatMap(({label, value}) => [make("dt", {}, label), make("dd", {}, unbroken(value))]));
    const {words, seeds, together} = answer.forecast;
    const all = seeds > 1 ? ` It is pressed with ${seeds} seeds of its flaws, ${together}.` : " It is pressed once: one seed of its flaws.";
    this.forecast.textContent = unbroken(`A press takes ${words}.${all}`);
    this.cautions.replaceChildren(...answer.cautions.map((text) => make("li", {}, unbroken(text))));
    this.yaml.textContent = answer.yaml;
    this.origins(answer.resolved);
    this.putAside(new Set(answer.unread));
  }

  origins(resolved) {
    for (const {key, value, origin} of resolved) {
      const field = this.fields.get(key);
      if (!field) continue;
      const own = field.input.value.trim() !== "";
      field.note.textContent = own ? "" : unbroken(origin === "default" || origin === "" ? `${value}, the default` : `${value}, ${origin}`);
      field.field.classList.toggle("own", own);
    }
  }

  /* Fields that this case does not read are moved to the end of their group, and back when they are read again. */
  putAside(unread) {
    const focused = document.activeElement;
    for (const {grid, aside, asideBox, count, rows} of this.groups) {
      let read = 0;
      for (const row of rows) {
        const {field} = this.fields.get(row.key), home = unread.has(row.key) ? aside : grid;
        if (home === grid) read++;
        if (field.parentElement === home || field.contains(focused)) continue;
        /* in the order of the rows */
        const after = rows.slice(rows.indexOf(this.fields.get(row.key).row) + 1).map(({key}) => this.fields.get(key).field);
        home.insertBefore(field, after.find((one) => one.parentElement === home) || null);
      }
      const away = rows.length - read;
      asideBox.hidden = away === 0;
      asideBox.firstChild.textContent = `Not read by this coupon (${away})`;
      const own = rows.filter((row) => this.values[row.key]).length;
      count.textContent = `${read} ${read === 1 ? "field" : "fields"}${own ? `, ${own} filled in` : ""}`;
    }
  }

  shortName() {
    const value = (key) => this.values[key] || this.answer?.resolved.find((one) => one.key === key)?.value || "";
    return `${value("infill.pattern")}, ${value("infill.density")}`;
  }

  /* ---- doing ---- */

  async press() {
    try {
      const {id} = await talk.press(this.values, this.name.value.trim() || this.shortName());
      trouble("");
      say("The coupon waits to be pressed.");
      location.hash = `#press/${id}`;
    } catch (error) {
      this.refuse(error);
    }
  }

  async refreshFiles() {
    try {
      const {files} = await talk.files();
      const cases = files.filter((file) => file.kind === "case");
      fillChoice(this.open, (cases.length ? cases : [{name: ""}]).map(({name}) => [name, name || "none yet"]));
      const plans = files.filter((file) => file.kind === "plan");
      fillChoice(this.plan, plans.map(({name}) => [name, name]));
      this.plans.hidden = !plans.length;
      this.targets = files.filter((file) => file.kind === "target").map(({name}) => name);
      this.bench.choose?.offer(this.targets);
      this.files.replaceChildren(...files.map(({name}) => make("option", {value: name})));
    } catch (error) {
      trouble(error.message);
    }
  }

  async pressPlan() {
    try {
      const {count, failed, reason} = await talk.pressPlan(this.plan.value);
      trouble(failed ? `${failed} of ${count + failed} coupons of ${this.plan.value} cannot be pressed: ${reason}` : "");
      say(`${count} coupons of ${this.plan.value} wait to be pressed.`);
      location.hash = "#press";
    } catch (error) {
      trouble(error.message);
    }
  }

  async openFile(name) {
    if (!name) return;
    try {
      const {values} = await talk.fileValues(name);
      this.setValues(values);
      this.saveName.value = this.opened = name;
      say(`${name} is on the form.`);
    } catch (error) {
      this.refuse(error);
    }
  }

  async keep() {
    try {
      const name = this.saveName.value.trim() || "coupon.yaml";
      /* only a file that was opened or saved here is overwritten */
      const {path} = await talk.save({kind: "case", name, values: this.values, replace: name === this.opened});
      this.opened = path;
      say(`Kept as ${path}.`);
      this.forecast.textContent = `Kept as ${path}.`;
      await this.refreshFiles();
    } catch (error) {
      this.refuse(error);
    }
  }
}
