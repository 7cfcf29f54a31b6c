// Looks at a pair closely: two pictures in one place with a wipe between them and lines above, moved
// and zoomed by fingers, wheel or keys. Where the picture that came first is too coarse, squares of
// the full one are fetched for what is seen.

const SIDE = 512; // pixels of a square, as the shop cuts them
const BASE = 1600; // longer side of the picture that came first
const CLOSEST = 6; // pixels of the screen for one of the photograph
const MOST = 48; // squares at a time and layer

export class View {
  constructor(figure) {
    const { width, height, base, glow, home } = figure.dataset;
    Object.assign(this, { figure, width: Number(width), height: Number(height), home, finding: "", wipe: 0.5 });
    this.rawGlow = glow;
    this.pane = figure.querySelector(".pane");
    this.line = figure.querySelector(".wipe-line");
    this.stage = made("div", "stage", this.pane);
    this.stage.style.width = `${this.width}px`;
    this.stage.style.height = `${this.height}px`;
    this.seen = this.layer(base);
    this.glow = this.layer(glow);
    made("div", "crosshair", figure);
    this.pointers = new Map();
    this.listen();
    figure.style.aspectRatio = String(Math.min(1.35, Math.max(0.7, this.width / this.height)));
    figure.hidden = false;
    new ResizeObserver(() => this.resized()).observe(figure);
    this.all();
  }

  layer(address) {
    const layer = made("div", "layer", this.stage);
    const picture = made("img", "", layer);
    picture.alt = "";
    picture.decoding = "async";
    picture.src = address;
    picture.style.width = `${this.width}px`;
    picture.style.height = `${this.height}px`;
    return { layer, picture, pieces: new Map() };
  }

  // What was found: UV-A laid over by it, and its lines. Without a finding UV-A lies as it was taken.
  found(finding, svg, pair) {
    this.pair = pair;
    if (finding !== this.finding) {
      this.finding = finding;
      this.glow.picture.src = this.glowAddress;
      for (const one of this.glow.pieces.values()) one.remove();
      this.glow.pieces.clear();
    }
    if (!svg && finding && this.lines) return; // the same answer as before
    this.lines?.remove();
    this.lines = svg ?? null; // taken out of the plain page, so that its patterns are there once
    if (this.lines) {
      this.lines.removeAttribute("role");
      this.lines.setAttribute("aria-hidden", "true");
      this.stage.insertBefore(this.lines, this.stage.querySelector(".marking"));
    }
    this.draw();
  }

  // UV-A as it was taken, stretched over the same place, to point at something in it.
  raw(on) {
    if (Boolean(this.isRaw) === on) return;
    this.isRaw = on;
    this.glow.picture.src = this.glowAddress;
    for (const one of this.glow.pieces.values()) one.remove();
    this.glow.pieces.clear();
  }

  get glowAddress() {
    return this.finding && !this.isRaw ? `${this.home}/laid/${this.finding}?${new URLSearchParams(this.pair)}` : this.rawGlow;
  }

  get size() {
    return [this.figure.clientWidth, this.figure.clientHeight];
  }

  get fitting() {
    return Math.min(this.size[0] / this.width, this.size[1] / this.height);
  }

  all() {
    this.scale = this.fitting;
    this.x = (this.size[0] - this.width * this.scale) / 2;
    this.y = (this.size[1] - this.height * this.scale) / 2;
    this.draw();
  }

  resized() {
    if (!this.figure.clientWidth) return;
    if (!this.touched) this.all();
    else this.draw();
  }

  zoom(factor, x = this.size[0] / 2, y = this.size[1] / 2) {
    const scale = Math.min(CLOSEST, Math.max(this.fitting, this.scale * factor));
    this.x = x - ((x - this.x) * scale) / this.scale;
    this.y = y - ((y - this.y) * scale) / this.scale;
    this.scale = scale;
    this.touched = scale > this.fitting * 1.001;
    this.draw();
  }

  move(dx, dy) {
    this.x += dx;
    this.y += dy;
    this.touched = true;
    this.draw();
  }

  // Shows a box of the photograph with room around it.
  show(box) {
    const [left, top, right, bottom] = box;
    const room = 2.2 * Math.max((right - left) / this.size[0], (bottom - top) / this.size[1], 60 / this.size[0]);
    this.scale = Math.min(2, Math.max(this.fitting, 1 / room));
    this.x = this.size[0] / 2 - ((left + right) / 2) * this.scale;
    this.y = this.size[1] / 2 - ((top + bottom) / 2) * this.scale;
    this.touched = true;
    this.draw();
  }

  setWipe(share) {
    this.wipe = Math.min(1, Math.max(0, share));
    this.draw();
  }

  // A place of the screen as a point of the photograph.
  at(event) {
    const box = this.figure.getBoundingClientRect();
    return [(event.clientX - box.left - this.x) / this.scale, (event.clientY - box.top - this.y) / this.scale];
  }

  get middle() {
    return [(this.size[0] / 2 - this.x) / this.scale, (this.size[1] / 2 - this.y) / this.scale];
  }

  draw() {
    const [wide, tall] = this.size;
    const bound = (place, room, length) => (length <= room ? (room - length) / 2 : Math.min(0.5 * room, Math.max(0.5 * room - length, place)));
    this.x = bound(this.x, wide, this.width * this.scale);
    this.y = bound(this.y, tall, this.height * this.scale);
    this.stage.style.transform = `translate(${this.x}px, ${this.y}px) scale(${this.scale})`;
    for (const svg of this.stage.querySelectorAll(":scope > svg")) svg.style.setProperty("--u", `${1 / this.scale}px`);
    for (const one of this.lines?.querySelectorAll("pattern") ?? []) one.setAttribute("patternTransform", `scale(${1 / this.scale})`);
    const from = Math.min(this.width, Math.max(0, (this.wipe * wide - this.x) / this.scale));
    this.glow.layer.style.clipPath = `inset(0 0 0 ${from}px)`;
    this.line.style.left = `${this.wipe * 100}%`;
    this.line.hidden = false;
    this.figure.toggleAttribute("data-near", Boolean(this.touched));
    this.onchange?.();
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.pieces(), 120);
  }

  pieces() {
    const fine = this.scale * devicePixelRatio;
    const longer = Math.max(this.width, this.height);
    const wanted = longer > BASE && fine > (1.15 * BASE) / longer;
    const level = Math.max(0, Math.floor(0.2 - Math.log2(fine)));
    const side = SIDE << level;
    const names = [];
    if (wanted) {
      const first = [Math.max(0, -this.x / this.scale), Math.max(0, -this.y / this.scale)];
      const last = [Math.min(this.width, (this.size[0] - this.x) / this.scale), Math.min(this.height, (this.size[1] - this.y) / this.scale)];
      for (let row = Math.floor(first[1] / side); row * side < last[1]; row += 1) {
        for (let column = Math.floor(first[0] / side); column * side < last[0]; column += 1) names.push([level, column, row]);
      }
    }
    this.fill(this.seen, names, side, { visible: this.pair?.visible });
    if (this.finding && !this.isRaw) this.fill(this.glow, names, side, this.pair);
  }

  fill(layer, names, side, asked) {
    if (!asked?.visible || names.length > MOST) return;
    const keep = new Set(names.map((one) => one.join("/")));
    const coming = [];
    for (const [level, column, row] of names) {
      const name = `${level}/${column}/${row}`;
      if (layer.pieces.has(name)) continue;
      const piece = made("img", "", layer.layer);
      piece.alt = "";
      piece.style.left = `${column * side}px`;
      piece.style.top = `${row * side}px`;
      piece.style.width = `${Math.min(side, this.width - column * side)}px`;
      piece.style.height = `${Math.min(side, this.height - row * side)}px`;
      piece.src = `${this.home}/tile/${this.finding || "none"}/${name}?${new URLSearchParams(asked)}`;
      layer.pieces.set(name, piece);
      coming.push(piece.decode().catch(() => { piece.remove(); layer.pieces.delete(name); }));
    }
    Promise.all(coming).then(() => {
      for (const [name, piece] of layer.pieces) {
        if (keep.has(name)) continue;
        piece.remove();
        layer.pieces.delete(name);
      }
    });
  }

  listen() {
    const { figure } = this;
    figure.addEventListener("pointerdown", (event) => this.down(event));
    figure.addEventListener("pointermove", (event) => this.moved(event));
    for (const end of ["pointerup", "pointercancel"]) figure.addEventListener(end, (event) => this.up(event));
    figure.addEventListener("wheel", (event) => {
      const factor = Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0016));
      if (factor < 1 && !this.touched) return; // all is seen: the page moves on
      event.preventDefault();
      const box = figure.getBoundingClientRect();
      this.zoom(factor, event.clientX - box.left, event.clientY - box.top);
    }, { passive: false });
    figure.addEventListener("keydown", (event) => this.key(event));
  }

  down(event) {
    if (event.button) return;
    const onLine = event.target.closest(".wipe-line");
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
    figureCapture(this.figure, event.pointerId);
    this.began = { x: event.clientX, y: event.clientY, time: performance.now(), line: Boolean(onLine), held: false };
    if (!onLine && this.pointers.size === 1) this.began.held = Boolean(this.ondown?.(this.at(event), event));
    if (this.pointers.size === 2) this.onleave?.();
  }

  moved(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before || !this.began) return;
    const now = [event.clientX, event.clientY];
    if (this.pointers.size === 2) {
      const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
      const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]) || 1;
      const box = this.figure.getBoundingClientRect();
      this.zoom(apart(now, other) / apart(before, other), (now[0] + other[0]) / 2 - box.left, (now[1] + other[1]) / 2 - box.top);
      this.move((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
      this.began.held = true;
    } else if (this.began.line) {
      const box = this.figure.getBoundingClientRect();
      this.setWipe((event.clientX - box.left) / box.width);
      this.onwipe?.();
    } else if (this.began.held) this.ondrag?.(this.at(event));
    else if (this.touched || this.mode === "draw") this.move(now[0] - before[0], now[1] - before[1]);
    this.pointers.set(event.pointerId, now);
  }

  up(event) {
    this.pointers.delete(event.pointerId);
    const { began } = this;
    if (!began || this.pointers.size) return;
    const still = Math.hypot(event.clientX - began.x, event.clientY - began.y) < 7 && performance.now() - began.time < 700;
    if (began.held) this.ondrop?.();
    else if (still && !began.line && event.type === "pointerup") this.ontap?.(this.at(event));
    this.began = null;
  }

  key(event) {
    if (event.target !== this.figure) return;
    const step = 0.12 * Math.min(...this.size);
    const acts = {
      "+": () => this.zoom(1.4), "=": () => this.zoom(1.4), "-": () => this.zoom(1 / 1.4), 0: () => { this.touched = false; this.all(); },
      ArrowLeft: () => this.move(step, 0), ArrowRight: () => this.move(-step, 0), ArrowUp: () => this.move(0, step), ArrowDown: () => this.move(0, -step),
      ",": () => this.setWipe(this.wipe - 0.02), ".": () => this.setWipe(this.wipe + 0.02), Enter: () => this.ontap?.(this.middle),
    };
    const act = acts[event.key];
    if (!act || event.altKey || event.metaKey) return;
    event.preventDefault();
    act();
    if (event.key === "," || event.key === ".") this.onwipe?.();
  }
}

function figureCapture(figure, id) {
  try {
    figure.setPointerCapture(id);
  } catch { /* the pointer has gone already */ }
}

export function made(name, kind, into) {
  const one = document.createElement(name);
  if (kind) one.className = kind;
  into?.append(one);
  return one;
}
