// Draws on a pair: outline and parts with corners to drag, two ends of a known length, boxes of grey
// standards, and the border of a region by hand. Every corner can be reached and moved by keys. What
// is drawn stands as numbers in the form, which is all that the shop gets.
import { bent, clamp, dot, edge, NS, pairs, shape, word } from "./shapes.js";
import { made } from "./view.js";

const REACH = 27; // pixels of the screen around a corner that take hold of it
const APART = 30; // corners nearer than this to the last one shown wait for a closer look

// The unit of length of this device; marks are kept in millimetres (an inch is 25.4 exactly).
const UNIT = document.documentElement.dataset.lengths === "in" ? { words: "inches", sign: "in", mm: 25.4 } : { words: "mm", sign: "mm", mm: 1 };
const inUnit = (mm) => Number((mm / UNIT.mm).toFixed(4));
const HOW = {
  outline: "Drag a corner of the body’s outline; tap the line to add one. With keys: Tab to a corner, arrows move it, Delete takes it out, + adds one.",
  part: "Parts are what is no coat: choose one to correct it, or add one by tapping its corners.",
  ruler: "Tap two ends of a known length in the plane of the face, and enter its length.",
  grey: "Tap two opposite corners of a standard that does not glow, and enter its reflectance.",
  points: "Where no position was found: tap a place in ordinary light, then the same place under UV-A. Four or more, far apart.",
  border: "Drag the corners of the region’s border; tap the line to add one.",
};

export class Drawing {
  constructor(view, tools, form) {
    Object.assign(this, { view, tools, form, field: form.elements.marks, kind: "outline", picked: 0, growing: false });
    this.svg = document.createElementNS(NS, "svg");
    this.svg.setAttribute("class", "marking");
    this.svg.setAttribute("viewBox", `0 0 ${view.width} ${view.height}`);
    this.svg.style.display = "none";
    view.stage.append(this.svg);
    view.ondown = (point) => this.down(point);
    view.ondrag = (point) => this.drag(point);
    view.ondrop = () => this.drop();
    view.onleave = () => { this.holding = null; };
    view.ontap = (point) => this.tap(point);
    view.onchange = () => this.active && this.redraw();
    view.figure.addEventListener("keydown", (event) => event.key === "Escape" && this.edge && this.leave());
    for (const one of tools.querySelectorAll("[data-draw]")) one.addEventListener("click", () => this.choose(one.dataset.draw));
    this.draft = `lamp-marks ${location.pathname} ${form.elements.visible.value}+${form.elements.uv.value}`;
    const draft = localStorage.getItem(this.draft); // drawn on this device and not kept yet
    if (draft && draft !== this.field.value) this.field.value = draft;
    form.addEventListener("submit", (event) => event.submitter?.value === "keep" && localStorage.removeItem(this.draft));
    this.read();
    this.field.addEventListener("change", () => { this.read(); this.redraw(); });
  }

  read() {
    let told = {};
    try { told = JSON.parse(this.field.value || "{}"); } catch { /* the shop says what is wrong with it */ }
    this.marks = { outline: [], parts: [], ruler: null, greys: [], points: [], ...told };
  }

  write() {
    const told = Object.fromEntries(Object.entries(this.marks).filter(([, one]) => one && one.length !== 0));
    this.field.value = JSON.stringify(told, (_, one) => (typeof one === "number" ? Math.round(one * 1000) / 1000 : one));
    localStorage.setItem(this.draft, this.field.value);
  }

  open(active) {
    if (active && !this.active) this.wiped = this.view.wipe;
    if (!active && this.active) {
      this.view.wipe = this.wiped ?? 0.5;
      this.view.raw(false);
    }
    this.active = active;
    this.view.mode = active ? "draw" : "look";
    this.view.figure.dataset.mode = this.view.mode;
    this.svg.style.display = active ? "" : "none";
    this.tools.hidden = !active;
    if (active) this.choose(this.kind === "border" ? "outline" : this.kind);
    this.view.draw();
    this.view.onwipe?.();
  }

  choose(kind) {
    if (this.growing) this.close();
    this.kind = kind;
    this.picked = 0;
    for (const one of this.tools.querySelectorAll("[data-draw]")) one.setAttribute("aria-pressed", String(one.dataset.draw === kind));
    this.tools.querySelector(".modes").hidden = kind === "border";
    this.first = null;
    this.view.raw(kind === "points");
    if (kind !== "border") this.view.setWipe(1); // drawn on ordinary light
    this.view.onwipe?.();
    this.offer();
    this.redraw();
  }

  // The border of a region: kept by the region's own form.
  border(number, polygon, keep) {
    this.edge = { number, polygon: polygon.map(([x, y]) => [x, y]), keep };
    this.wiped = this.view.wipe;
    this.active = true;
    this.view.mode = this.view.figure.dataset.mode = "draw";
    this.svg.style.display = "";
    this.tools.hidden = false;
    this.view.figure.dataset.busy = "1";
    this.choose("border");
  }

  leave() {
    delete this.view.figure.dataset.busy;
    this.edge = null;
    this.kind = "outline";
    this.open(false);
  }

  get points() {
    if (this.kind === "outline") return this.marks.outline;
    if (this.kind === "part") return this.marks.parts[this.picked]?.polygon ?? [];
    if (this.kind === "border") return this.edge.polygon;
    if (this.kind === "points") return [];
    if (this.kind === "ruler") return pairs(this.marks.ruler ?? this.half);
    return pairs(this.marks.greys[this.picked] ?? this.half);
  }

  get closed() {
    return ["outline", "part", "border"].includes(this.kind);
  }

  put(points) {
    if (this.kind === "outline") this.marks.outline = points;
    else if (this.kind === "part") { if (this.marks.parts[this.picked]) this.marks.parts[this.picked].polygon = points; }
    else if (this.kind === "border") this.edge.polygon = points;
    else if (points.length < 2) { this.half = points.flat(); return; }
    else {
      this.half = null;
      const number = Number(this.tools.querySelector(".own-fields input")?.value) * (this.kind === "ruler" ? UNIT.mm : 1) || (this.kind === "ruler" ? 100 : 0.18);
      let ends = points.flat();
      if (this.kind === "ruler") this.marks.ruler = [...ends, this.marks.ruler?.[4] ?? number];
      else {
        ends = [Math.min(ends[0], ends[2]), Math.min(ends[1], ends[3]), Math.max(ends[0], ends[2]), Math.max(ends[1], ends[3])];
        this.marks.greys[this.picked] = [...ends, this.marks.greys[this.picked]?.[4] ?? number];
      }
    }
    if (this.kind !== "border") this.write();
  }

  near(point, reach = REACH / this.view.scale) {
    let best = -1;
    let least = reach;
    this.points.forEach(([x, y], k) => {
      const far = Math.hypot(x - point[0], y - point[1]);
      if (far < least && (this.shown?.has(k) ?? true)) [best, least] = [k, far];
    });
    return best;
  }

  down(point) {
    if (!this.active) return false;
    const at = this.near(point);
    if (at < 0) return false;
    this.holding = at;
    return true;
  }

  drag(point) {
    if (this.holding === null || this.holding === undefined) return;
    this.set(this.holding, point);
  }

  drop() {
    this.holding = null;
    this.offer();
    this.redraw();
  }

  set(at, point) {
    const goal = [clamp(point[0], this.view.width), clamp(point[1], this.view.height)];
    const by = [goal[0] - this.points[at][0], goal[1] - this.points[at][1]];
    this.put(bent(this.points, at, by, this.closed ? this.shown : new Set(this.points.keys())));
    this.redraw();
  }

  tap(point) {
    if (!this.active) return;
    const inside = [clamp(point[0], this.view.width), clamp(point[1], this.view.height)];
    const { points } = this;
    if (this.kind === "points") { this.point(inside); return; }
    if (!this.closed) {
      if (points.length >= 2) return;
      this.put([...points, inside]);
    } else if (this.growing || !points.length) {
      if (this.kind === "part" && !this.marks.parts.length) return;
      this.growing = true;
      this.put([...points, inside]);
    } else {
      const at = edge(points, point, 20 / this.view.scale);
      if (at < 0) return;
      this.put([...points.slice(0, at + 1), inside, ...points.slice(at + 1)]);
    }
    this.offer();
    this.redraw();
  }

  // One place in both photographs: first in ordinary light, then under UV-A.
  point(place) {
    const { width, height, glowWidth, glowHeight } = this.view.figure.dataset;
    if (!this.first) this.first = place;
    else {
      const there = [(place[0] * glowWidth) / width, (place[1] * glowHeight) / height];
      this.marks.points.push([...this.first, ...there]);
      this.first = null;
      this.write();
    }
    this.view.setWipe(this.first ? 0 : 1);
    this.view.onwipe?.();
    this.offer();
    this.redraw();
    if (this.first) this.say("Now the same place under UV-A.");
  }

  close() {
    if (this.points.length < 3) {
      this.put([]);
      if (this.kind === "part") this.marks.parts.splice(this.picked, 1);
    }
    this.growing = false;
    this.picked = Math.min(this.picked, Math.max(0, this.marks.parts.length - 1));
    this.write();
    this.offer();
    this.redraw();
  }

  async propose() {
    const used = document.getElementById("used-masks");
    let told;
    if (used) told = JSON.parse(used.dataset.masks);
    else {
      this.say("Looking for the body …");
      try {
        const answer = await fetch(`${this.view.home}/outline?${new URLSearchParams({ visible: this.form.elements.visible.value })}`);
        if (!answer.ok) throw new Error(String(answer.status));
        told = await answer.json();
      } catch { this.say("The shop did not answer: tap the corners, or try again."); return; }
    }
    if (!told.outline) { this.say("No body was found: it does not stand out from the background. Tap the corners of its outline."); return; }
    this.marks.outline = told.outline;
    this.marks.parts = told.parts ?? [];
    this.growing = false;
    this.write();
    this.offer();
    this.redraw();
    this.say(`${used ? "Taken" : "Proposed"}: an outline of ${told.outline.length} corners and ${this.marks.parts.length} parts. Correct it: zoom in, and every corner can be dragged.`);
  }

  say(words) {
    this.tools.querySelector(".how").textContent = words;
  }

  // What belongs to the kind that is drawn: its number, its acts, its list.
  offer() {
    const [fields, acts, list] = [".own-fields", ".own-acts", ".drawn-list"].map((one) => this.tools.querySelector(one));
    const act = (words, does) => {
      const button = made("button", "", acts);
      button.type = "button";
      button.textContent = words;
      button.addEventListener("click", does);
      return button;
    };
    fields.replaceChildren();
    acts.replaceChildren();
    list.replaceChildren();
    this.say(HOW[this.kind]);
    if (this.growing) act("Close it", () => this.close()).className = "go";
    if (this.kind === "outline") {
      act(document.getElementById("used-masks") ? "Take those of this comparison" : "Propose outline and parts", () => this.propose());
      if (this.marks.outline.length) act("Draw it anew", () => { this.marks.outline = []; this.growing = true; this.write(); this.offer(); this.redraw(); });
    } else if (this.kind === "part") {
      if (!this.growing) act("Add a part", () => { this.marks.parts.push({ name: `part ${this.marks.parts.length + 1}`, polygon: [] }); this.picked = this.marks.parts.length - 1; this.growing = true; this.offer(); this.redraw(); this.say("Tap the corners of the part, then close it. With keys: Enter puts a corner at the cross."); });
      const part = this.marks.parts[this.picked];
      if (part) this.name(fields, "Name of the part", part.name, (value) => { part.name = value || "part"; this.write(); this.redraw(); });
      this.list(list, this.marks.parts.map((one) => one.name), (k) => this.marks.parts.splice(k, 1));
    } else if (this.kind === "ruler") {
      this.number(fields, `Its length in ${UNIT.words}`, this.marks.ruler ? inUnit(this.marks.ruler[4]) : "", (value) => { if (this.marks.ruler && value > 0) { this.marks.ruler[4] = Number((value * UNIT.mm).toFixed(4)); this.write(); this.redraw(); } });
      if (this.marks.ruler || this.half) act("Take it away", () => { this.marks.ruler = this.half = null; this.write(); this.offer(); this.redraw(); });
    } else if (this.kind === "points") {
      this.list(list, this.marks.points.map((_, k) => `point ${k + 1}`), (k) => this.marks.points.splice(k, 1));
    } else if (this.kind === "grey") {
      this.number(fields, "Reflectance, 0 to 1", this.marks.greys[this.picked]?.[4] ?? "", (value) => { if (this.marks.greys[this.picked] && value > 0) { this.marks.greys[this.picked][4] = value; this.write(); this.offer(); this.redraw(); } });
      if (this.marks.greys.length) act("Add another standard", () => { this.picked = this.marks.greys.length; this.half = null; this.offer(); this.redraw(); });
      this.list(list, this.marks.greys.map((one) => `reflectance ${one[4]}`), (k) => this.marks.greys.splice(k, 1));
    } else {
      act("Keep this border", () => { const { keep, polygon } = this.edge; this.leave(); keep(polygon); }).className = "go";
      act("Leave it as it was", () => this.leave());
    }
  }

  number(into, words, value, changed) {
    const input = this.name(into, words, value, (text) => changed(Number(text)));
    input.type = "number";
    input.step = "any";
    input.min = "0";
    input.inputMode = "decimal";
  }

  name(into, words, value, changed) {
    const label = made("label", "", into);
    label.append(`${words} `);
    const input = made("input", "", label);
    input.value = value;
    input.maxLength = 60;
    input.addEventListener("change", () => changed(input.value.trim()));
    return input;
  }

  list(into, names, takeOut) {
    names.forEach((name, k) => {
      const row = made("li", "", into);
      const choose = made("button", k === this.picked ? "picked" : "", row);
      choose.type = "button";
      choose.textContent = name;
      choose.setAttribute("aria-pressed", String(k === this.picked));
      choose.addEventListener("click", () => { if (this.growing) this.close(); this.picked = k; this.offer(); this.redraw(); });
      const out = made("button", "", row);
      out.type = "button";
      out.textContent = "take out";
      out.setAttribute("aria-label", `take out ${name}`);
      out.addEventListener("click", () => { takeOut(k); this.growing = false; this.picked = 0; this.write(); this.offer(); this.redraw(); });
    });
  }

  redraw() {
    if (!this.active) return;
    const held = this.svg.contains(document.activeElement) ? Number(document.activeElement.dataset.corner) : -1;
    const shapes = [];
    const polygon = (points, kind) => points.length > 1 && shapes.push(shape(this.growing && kind ? "polyline" : "polygon", { points: points.map((one) => one.join(",")).join(" "), class: `line${kind ? "" : " other"}` }));
    if (this.kind === "border") polygon(this.edge.polygon, true);
    else {
      polygon(this.marks.outline, this.kind === "outline");
      this.marks.parts.forEach((one, k) => {
        polygon(one.polygon, this.kind === "part" && k === this.picked);
        if (one.polygon.length && this.kind === "part") shapes.push(word(one.polygon[0], one.name));
      });
      if (this.marks.ruler) { const [x1, y1, x2, y2, mm] = this.marks.ruler; shapes.push(shape("line", { x1, y1, x2, y2, class: "line" }), word([(x1 + x2) / 2, Math.min(y1, y2)], `${inUnit(mm)} ${UNIT.sign}`)); }
      if (this.kind === "points") {
        const { width, height, glowWidth, glowHeight } = this.view.figure.dataset;
        const under = Boolean(this.first);
        this.marks.points.forEach(([x, y, u, v], k) => shapes.push(...dot(under ? [(u * width) / glowWidth, (v * height) / glowHeight] : [x, y], k + 1)));
      }
      for (const [x, y, right, bottom, share] of this.marks.greys) shapes.push(shape("rect", { x, y, width: right - x, height: bottom - y, class: "line" }), word([x, y], String(share)));
    }
    const under = shapes.filter((one) => one.tagName !== "text").map((one) => { const copy = one.cloneNode(); copy.setAttribute("class", "halo"); return copy; });
    this.svg.replaceChildren(...under, ...shapes, ...this.handles(held));
    if (held >= 0) this.svg.querySelector(`[data-corner="${held}"]`)?.focus({ preventScroll: true });
  }

  handles(held) {
    const { points } = this;
    this.shown = new Set();
    const made = [];
    let last = null;
    points.forEach((point, k) => {
      const far = last ? Math.hypot(point[0] - last[0], point[1] - last[1]) * this.view.scale : Infinity;
      if (far < APART && k !== held && k !== this.holding) return;
      last = point;
      this.shown.add(k);
      const handle = shape("g", { class: `handle${k === this.holding ? " held" : ""}`, transform: `translate(${point[0]} ${point[1]})`, tabindex: 0, role: "button", "data-corner": k, "aria-label": `${this.kind}, corner ${k + 1} of ${points.length}` });
      handle.append(shape("circle", { r: 1 }));
      handle.addEventListener("keydown", (event) => this.key(event, k));
      made.push(handle);
    });
    return made;
  }

  key(event, k) {
    const step = (event.shiftKey ? 10 : 1) / Math.min(1, this.view.scale);
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    const { points } = this;
    if (by) this.set(k, [points[k][0] + by[0], points[k][1] + by[1]]);
    else if (["Delete", "Backspace"].includes(event.key) && this.closed && points.length > 3) { this.put(points.filter((_, other) => other !== k)); this.redraw(); }
    else if (["+", "Insert"].includes(event.key) && this.closed) {
      const next = points[(k + 1) % points.length];
      this.put([...points.slice(0, k + 1), [(points[k][0] + next[0]) / 2, (points[k][1] + next[1]) / 2], ...points.slice(k + 1)]);
      this.redraw();
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }
}
