// A number pad for the frets: three figures a reading, and the next cell by itself. The rows of numbers
// are what is sent and what is kept while typing; the pad only writes into them. Without this file the
// rows are typed as they are.

const SIDES = ["treble", "middle", "bass"];
const FIGURES = 3;

class Pad {
  constructor(form) {
    this.form = form;
    this.frets = Number(form.dataset.frets);
    this.thousandths = form.dataset.unit === "in";
    this.body = form.querySelector("tbody");
    this.at = 0;
    this.typed = "";
    this.refused = "";
    this.cells = SIDES.flatMap((side) => this.read(side));
    this.lay();
    const first = this.cells.findIndex((one) => one === "");
    this.go(first < 0 ? 0 : first);
    form.querySelector(".pad-side").hidden = false;
    form.querySelector(".pad").addEventListener("click", (event) => this.press(event.target.closest("button")));
    form.querySelector(".fret-grid").addEventListener("keydown", (event) => this.key(event));
    this.body.addEventListener("click", (event) => {
      const cell = event.target.closest("[data-cell]");
      if (cell) this.go(Number(cell.dataset.cell));
    });
    for (const side of SIDES) {
      form.elements[side].addEventListener("change", () => {
        this.cells = SIDES.flatMap((one) => this.read(one));
        this.show();
      });
    }
  }

  read(side) {
    const words = this.form.elements[side].value.replaceAll(";", " ").split(/\s+/).filter(Boolean);
    return Array.from({ length: this.frets }, (_, k) => words[k] ?? "");
  }

  lay() {
    for (let fret = 0; fret < this.frets; fret += 1) {
      const row = this.body.insertRow();
      const head = document.createElement("th");
      head.scope = "row";
      head.textContent = String(fret + 1);
      row.append(head);
      SIDES.forEach((side, k) => {
        const button = document.createElement("button");
        button.type = "button";
        button.dataset.cell = String(k * this.frets + fret);
        row.insertCell().append(button);
      });
    }
  }

  go(at) {
    this.at = Math.min(Math.max(at, 0), this.cells.length - 1);
    this.typed = "";
    this.show();
    this.cell(this.at).scrollIntoView({ block: "nearest" });
  }

  cell(at) {
    return this.body.querySelector(`[data-cell="${at}"]`);
  }

  where(at) {
    return `Fret ${(at % this.frets) + 1}, ${SIDES[Math.floor(at / this.frets)]} string`;
  }

  show() {
    this.cells.forEach((value, at) => {
      const button = this.cell(at);
      button.textContent = value || "·";
      button.setAttribute("aria-label", `${this.where(at)}: ${value === "-" ? "not read" : value || "empty"}`);
      if (at === this.at) button.setAttribute("aria-current", "true");
      else button.removeAttribute("aria-current");
    });
    const full = this.cells.filter(Boolean).length;
    this.form.querySelector(".where").textContent = this.refused || this.where(this.at);
    this.form.querySelector("output").textContent = this.typed || (this.cells[this.at] || "");
    this.form.querySelector(".count").textContent = `${full} of ${this.cells.length}`;
  }

  set(value) {
    this.cells[this.at] = value;
    const k = Math.floor(this.at / this.frets);
    const row = this.cells.slice(k * this.frets, (k + 1) * this.frets);
    while (row.length && row.at(-1) === "") row.pop();
    const field = this.form.elements[SIDES[k]];
    field.value = row.map((one) => one || "-").join(" ");
    field.dispatchEvent(new Event("input", { bubbles: true })); // kept on the device
  }

  most() {
    const millimetres = Number(this.form.elements.quantity.selectedOptions[0].dataset.most);
    return this.thousandths ? millimetres / 25.4 : millimetres;
  }

  digit(figure) {
    this.refused = "";
    if (!this.begun) this.form.querySelector(".pad-side").scrollIntoView({ block: "start" });
    this.begun = true;
    this.typed += figure;
    if (this.typed.length < FIGURES) {
      this.show();
      return;
    }
    const number = Number(this.typed) / (this.thousandths ? 1000 : 100);
    if (number <= 0 || number > this.most()) {
      this.refused = `${number} is a size that no fret has. ${this.where(this.at)} again:`;
      navigator.vibrate?.(120);
      this.typed = "";
      this.show();
      return;
    }
    this.set(number.toFixed(this.thousandths ? 3 : 2));
    this.go(this.at + 1);
  }

  press(button) {
    if (!button) return;
    if (button.dataset.digit !== undefined) this.digit(button.dataset.digit);
    else if ("skip" in button.dataset) this.skip();
    else this.back();
  }

  skip() {
    this.refused = "";
    this.set("-");
    this.go(this.at + 1);
  }

  back() {
    this.refused = "";
    if (this.typed) {
      this.typed = this.typed.slice(0, -1);
      this.show();
      return;
    }
    const last = this.at === this.cells.length - 1 && this.cells[this.at] ? this.at : this.at - 1;
    this.go(last);
    this.set("");
    this.show();
  }

  key(event) {
    if (/^[0-9]$/.test(event.key)) this.digit(event.key);
    else if (event.key === "-") this.skip();
    else if (event.key === "Backspace") this.back();
    else return;
    event.preventDefault();
  }
}

function begin() {
  const form = document.querySelector(".fret-form");
  if (form && form.querySelector(".pad-side").hidden) new Pad(form);
}

document.addEventListener("bench:shown", begin);
begin();
