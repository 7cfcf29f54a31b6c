"use strict";
// The wipe between two lights, and a photograph as large as one likes: by finger, wheel or keys.
for (const pair of document.querySelectorAll(".wipe")) {
  const label = pair.nextElementSibling;
  const slider = label.querySelector("input");
  const put = (share) => {
    slider.value = share;
    pair.style.setProperty("--cut", `${slider.value}%`);
    slider.setAttribute("aria-valuetext", `ordinary light over ${slider.value} % of the width, UV-A over the rest`);
  };
  pair.classList.add("laid");
  label.hidden = false;
  put(50);
  slider.addEventListener("input", () => put(slider.value));
  let held = false;
  const follow = (event) => {
    const all = pair.getBoundingClientRect();
    put(Math.round((100 * (event.clientX - all.left)) / all.width));
  };
  pair.addEventListener("pointerdown", (event) => { held = true; pair.setPointerCapture(event.pointerId); follow(event); });
  pair.addEventListener("pointermove", (event) => held && follow(event));
  for (const kind of ["pointerup", "pointercancel"]) pair.addEventListener(kind, () => { held = false; });
}

const dialog = document.querySelector("dialog");
const glass = dialog.querySelector(".glass");
const large = glass.querySelector("img");
const shown = [...document.querySelectorAll(".zoom")];
const MOST = 12;
let at = 0;
let view = { scale: 1, x: 0, y: 0 };
let whole = 1;
let from = null;

function draw() {
  const { clientWidth: wide, clientHeight: tall } = glass;
  const [w, h] = [large.naturalWidth * view.scale, large.naturalHeight * view.scale];
  view.x = w <= wide ? (wide - w) / 2 : Math.min(0, Math.max(wide - w, view.x));
  view.y = h <= tall ? (tall - h) / 2 : Math.min(0, Math.max(tall - h, view.y));
  large.style.transform = `translate(${view.x}px, ${view.y}px) scale(${view.scale})`;
}

function fit() {
  whole = Math.min(glass.clientWidth / large.naturalWidth, glass.clientHeight / large.naturalHeight) || 1;
  view = { scale: whole, x: 0, y: 0 };
  draw();
}

function grow(by, x = glass.clientWidth / 2, y = glass.clientHeight / 2) {
  const scale = Math.min(whole * MOST, Math.max(whole, view.scale * by));
  const real = scale / view.scale;
  view = { scale, x: x - (x - view.x) * real, y: y - (y - view.y) * real };
  draw();
}

function go(number) {
  at = (number + shown.length) % shown.length;
  const picture = shown[at].querySelector("img");
  large.src = picture.src;
  large.alt = picture.alt;
  document.getElementById("large-caption").textContent = shown[at].dataset.caption;
  if (large.complete) fit();
}

large.addEventListener("load", fit);
addEventListener("resize", () => dialog.open && fit());
function open(number, pressed) {
  from = pressed;
  dialog.showModal();
  go(number);
  glass.focus();
}
shown.forEach((button, number) => button.addEventListener("click", () => open(number, button)));
for (const link of document.querySelectorAll(".see")) { // a small copy beside its sentence; it opens large
  const number = shown.indexOf(document.querySelector(`${link.hash} .zoom`));
  if (number < 0) continue;
  const small = document.createElement("img");
  small.src = shown[number].querySelector("img").src;
  small.alt = "";
  link.prepend(small);
  link.addEventListener("click", (event) => { event.preventDefault(); open(number, link); });
}
dialog.addEventListener("close", () => from?.focus());
dialog.addEventListener("click", (event) => {
  const { by, step } = event.target.dataset ?? {};
  if (by) grow(Number(by));
  if (step) go(at + Number(step));
});
dialog.addEventListener("keydown", (event) => {
  const move = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
  if (event.key === "+" || event.key === "=") grow(1.5);
  else if (event.key === "-") grow(1 / 1.5);
  else if (event.key === "PageDown") go(at + 1);
  else if (event.key === "PageUp") go(at - 1);
  else if (move && event.target === glass) { view.x += 60 * move[0]; view.y += 60 * move[1]; draw(); }
  else return;
  event.preventDefault();
});

const held = new Map();
const apart = () => { const [a, b] = [...held.values()]; return Math.hypot(a.x - b.x, a.y - b.y); };
const place = (event) => { const all = glass.getBoundingClientRect(); return { x: event.clientX - all.left, y: event.clientY - all.top }; };
glass.addEventListener("pointerdown", (event) => { held.set(event.pointerId, place(event)); glass.setPointerCapture(event.pointerId); });
glass.addEventListener("pointermove", (event) => {
  const was = held.get(event.pointerId);
  if (!was) return;
  const now = place(event);
  if (held.size === 2) {
    const before = apart();
    held.set(event.pointerId, now);
    const [a, b] = [...held.values()];
    if (before > 0) grow(apart() / before, (a.x + b.x) / 2, (a.y + b.y) / 2);
    return;
  }
  held.set(event.pointerId, now);
  view.x += now.x - was.x;
  view.y += now.y - was.y;
  draw();
});
for (const kind of ["pointerup", "pointercancel"]) glass.addEventListener(kind, (event) => held.delete(event.pointerId));
glass.addEventListener("wheel", (event) => { event.preventDefault(); const { x, y } = place(event); grow(event.deltaY < 0 ? 1.2 : 1 / 1.2, x, y); }, { passive: false });
glass.addEventListener("dblclick", (event) => { const { x, y } = place(event); if (view.scale > whole * 1.05) fit(); else grow(3, x, y); });
