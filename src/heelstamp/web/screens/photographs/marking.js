// Draws on a photograph by finger, mouse or keys: a box over what must not be read, or two points of a
// known length. What is drawn stands as per cent in the form, which is all that the shop gets; the form
// is complete without this file.
const NS = "http://www.w3.org/2000/svg";
const FIELDS = { box: ["left", "top", "width", "height"], scale: ["x0", "y0", "x1", "y1"] };
const FIRST = { box: [[35, 40], [65, 60]], scale: [[30, 50], [70, 50]] }; // where keys begin
const LENS = 4; // times as large as on the screen
const STEP = 0.1; // per cent of the picture a press of an arrow moves; ten times with the shift key

const clamp = (value) => Math.min(100, Math.max(0, value));
const written = (value) => String(Number(value.toFixed(3)));
let drawing = null;

class Drawing {
  constructor(form, button) {
    Object.assign(this, { form, button, kind: form.dataset.draws, ends: [] });
    this.stage = document.querySelector(".marked");
    this.svg = this.stage.querySelector(".over");
    this.stage.classList.add("drawn-on");
    button.setAttribute("aria-pressed", "true");
    const ac = (this.listening = new AbortController());
    const told = { signal: ac.signal };
    this.stage.addEventListener("pointerdown", (event) => this.down(event), told);
    this.stage.addEventListener("pointermove", (event) => this.move(event), told);
    for (const kind of ["pointerup", "pointercancel"]) this.stage.addEventListener(kind, () => this.up(), told);
    form.addEventListener("input", () => this.read(), told);
    this.read();
    if (!this.ends.length) this.put(FIRST[this.kind].map((one) => [...one]));
    this.stage.closest(".large").scrollIntoView({ block: "nearest" });
    this.corners[0].focus({ preventScroll: true });
  }

  // Per cent of the picture at a place of the screen.
  place(event) {
    const all = this.stage.getBoundingClientRect();
    return [clamp((100 * (event.clientX - all.left)) / all.width), clamp((100 * (event.clientY - all.top)) / all.height)];
  }

  down(event) {
    if (event.button) return;
    event.preventDefault();
    const corner = event.target.closest(".corner");
    this.held = corner ? this.corners.indexOf(corner) : 1;
    if (!corner) this.put([this.place(event), this.place(event)]);
    this.corners[this.held].focus({ preventScroll: true });
    this.stage.setPointerCapture(event.pointerId);
    this.look(event);
  }

  move(event) {
    if (this.held === undefined) return;
    const ends = this.ends.map((one) => [...one]);
    ends[this.held] = this.place(event);
    this.put(ends);
    this.look(event);
  }

  up() {
    this.held = undefined;
    this.lens?.remove();
    this.lens = null;
  }

  key(event, at) {
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (event.key === "Escape") stop();
    if (!by) return;
    event.preventDefault();
    const far = STEP * (event.shiftKey ? 10 : 1);
    const ends = this.ends.map((one) => [...one]);
    ends[at] = ends[at].map((one, k) => clamp(one + far * by[k]));
    this.put(ends);
  }

  // What is under the finger, beside it and larger.
  look(event) {
    if (!this.lens) {
      this.lens = document.createElement("div");
      this.lens.className = "lens";
      this.stage.append(this.lens);
    }
    const picture = this.stage.querySelector("img");
    const all = this.stage.getBoundingClientRect();
    const { style } = this.lens;
    const size = this.lens.offsetWidth;
    const above = event.clientY - size - 40 > 0;
    style.left = `${Math.min(innerWidth - size, Math.max(0, event.clientX - size / 2))}px`;
    style.top = `${above ? event.clientY - size - 30 : event.clientY + 50}px`;
    style.backgroundImage = `url("${picture.currentSrc}")`;
    style.backgroundSize = `${all.width * LENS}px ${all.height * LENS}px`;
    const [x, y] = this.place(event);
    const half = this.lens.clientWidth / 2;
    style.backgroundPosition = `${half - (x / 100) * all.width * LENS}px ${half - (y / 100) * all.height * LENS}px`;
  }

  get corners() {
    return [...this.stage.querySelectorAll(".corner")];
  }

  // From the numbers of the form, as typed.
  read() {
    const told = FIELDS[this.kind].map((name) => parseFloat(this.form.elements[name].value.replace(",", ".")));
    if (told.some((one) => !Number.isFinite(one))) return;
    const [a, b, c, d] = told;
    this.ends = this.kind === "box" ? [[a, b], [a + c, b + d]] : [[a, b], [c, d]];
    this.show();
  }

  put(ends) {
    this.ends = ends;
    const [[ax, ay], [bx, by]] = ends;
    const told = this.kind === "box" ? [Math.min(ax, bx), Math.min(ay, by), Math.abs(bx - ax), Math.abs(by - ay)] : [ax, ay, bx, by];
    FIELDS[this.kind].forEach((name, k) => { this.form.elements[name].value = written(told[k]); });
    this.show();
  }

  show() {
    this.svg.querySelectorAll(".fresh, .fresh-under").forEach((one) => one.remove());
    const { width, height } = this.stage.dataset;
    const [[ax, ay], [bx, by]] = this.ends.map(([x, y]) => [(x * width) / 100, (y * height) / 100]);
    for (const kind of ["fresh-under", "fresh"]) {
      const one = document.createElementNS(NS, this.kind === "box" ? "rect" : "line");
      const told = this.kind === "box" ? { x: Math.min(ax, bx), y: Math.min(ay, by), width: Math.abs(bx - ax), height: Math.abs(by - ay) } : { x1: ax, y1: ay, x2: bx, y2: by };
      for (const [name, value] of Object.entries(told)) one.setAttribute(name, value);
      one.setAttribute("class", kind);
      this.svg.append(one);
    }
    const words = this.kind === "box" ? ["One corner of the box", "The corner across"] : ["First point", "Second point"];
    while (this.corners.length < 2) {
      const at = this.corners.length;
      const corner = document.createElement("button");
      corner.type = "button";
      corner.className = "corner";
      corner.addEventListener("keydown", (event) => this.key(event, at));
      this.stage.append(corner);
    }
    this.corners.forEach((corner, k) => {
      const [x, y] = this.ends[k];
      corner.style.left = `${x}%`;
      corner.style.top = `${y}%`;
      corner.setAttribute("aria-label", `${words[k]}: ${x.toFixed(1)} % across, ${y.toFixed(1)} % down. Arrows move it`);
    });
  }

  end() {
    this.listening.abort();
    this.up();
    this.stage.classList.remove("drawn-on");
    this.svg.querySelectorAll(".fresh, .fresh-under").forEach((one) => one.remove());
    this.corners.forEach((one) => one.remove());
    this.button.setAttribute("aria-pressed", "false");
  }
}

function stop() {
  const { button } = drawing ?? {};
  drawing?.end();
  drawing = null;
  button?.focus();
}

function offer() {
  if (drawing && !drawing.stage.isConnected) drawing = null;
  if (drawing && !drawing.form.isConnected) stop();
  document.querySelectorAll(".drawing").forEach((one) => { one.hidden = false; });
}

document.addEventListener("click", (event) => {
  const button = event.target.closest(".drawing");
  if (!button) return;
  const again = drawing?.button === button;
  if (drawing) stop();
  if (!again) drawing = new Drawing(button.form, button);
});
document.addEventListener("bench:shown", offer);
offer();
