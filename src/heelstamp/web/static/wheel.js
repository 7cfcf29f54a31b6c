// The number wheel: a field with a large minus and plus, in the step of the tool it was read with.
// Arrow keys and a sideways drag turn it too. A fraction such as 5/64 stays a fraction. Without this
// file the field is typed in. An empty wheel begins at data-start with its first turn.

const DRAG_PX = 12;

function places(step) {
  return (step.split(".")[1] ?? "").length;
}

function read(words) {
  const plain = words.trim().replace("\u2212", "-");
  const [, whole, top, under] = plain.match(/^(?:(\d+)\s+)?(\d+)\/(\d+)$/) ?? [];
  if (under) return Number(whole ?? 0) + Number(top) / Number(under);
  return plain === "" ? NaN : Number(plain);
}

function lowest(top, under) {
  let [a, b] = [Math.abs(top), under];
  while (b) [a, b] = [b, a % b];
  return a > 1 && under !== 64 && under !== 32 ? `${top / a}/${under / a}` : `${top}/${under}`;
}

function write(count, step) {
  const [, under] = step.match(/^1\/(\d+)$/) ?? [];
  if (under) return count === 0 ? "0" : lowest(count, Number(under));
  return (count * Number(step)).toFixed(places(step));
}

function size(step) {
  return step.includes("/") ? 1 / Number(step.split("/")[1]) : Number(step);
}

export function turn(field, wheel, by) {
  const step = wheel.dataset.step;
  const now = read(field.value);
  const start = read(wheel.dataset.start || "0");
  const from = Number.isFinite(now) ? now : start;
  const on = Math.round(from / size(step));
  let count = Number.isFinite(now) || !wheel.dataset.start ? on + by : on;
  const { low } = wheel.dataset;
  if (low !== undefined) count = Math.max(count, Math.ceil(Number(low) / size(step)));
  field.value = write(count, step);
  field.dispatchEvent(new Event("input", { bubbles: true }));
  wheel.querySelector(".unseen").textContent = `${field.value} ${wheel.querySelector(".unit").textContent}`;
  const ticks = wheel.querySelector(".ticks");
  if (ticks) ticks.style.backgroundPositionX = `${count * DRAG_PX}px`;
}

function button(words, by, field, wheel) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.setAttribute("aria-label", `${by < 0 ? "less" : "more"}, ${field.getAttribute("aria-label") ?? ""}`);
  made.addEventListener("click", () => turn(field, wheel, by));
  return made;
}

function dress(wheel) {
  if (wheel.classList.contains("turns")) return;
  const field = wheel.querySelector("input");
  wheel.classList.add("turns");
  wheel.prepend(button("\u2212", -1, field, wheel));
  wheel.append(button("+", 1, field, wheel));
  const ticks = document.createElement("span");
  ticks.className = "ticks";
  const told = document.createElement("span"); // read out at every turn
  told.className = "unseen";
  told.setAttribute("role", "status");
  wheel.append(ticks, told);
  wheel.append(wheel.querySelector("button:not(:first-child)"));
  field.addEventListener("keydown", (event) => {
    const by = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (!by) return;
    event.preventDefault();
    turn(field, wheel, by);
  });
  drag(field, wheel);
}

function drag(field, wheel) {
  let from = null;
  let turned = false;
  field.addEventListener("pointerdown", (event) => {
    from = event.clientX;
    turned = false;
  });
  field.addEventListener("pointermove", (event) => {
    if (from === null || !event.buttons) return;
    const by = Math.trunc((event.clientX - from) / DRAG_PX);
    if (!by) return;
    if (!field.hasPointerCapture(event.pointerId)) field.setPointerCapture(event.pointerId);
    from += by * DRAG_PX;
    turned = true;
    turn(field, wheel, by);
  });
  for (const end of ["pointerup", "pointercancel"]) field.addEventListener(end, () => (from = null));
  // A finger that turned the wheel does not want the keyboard.
  field.addEventListener("touchend", (event) => {
    if (turned && event.cancelable) event.preventDefault();
  });
}

function dressAll() {
  document.querySelectorAll("[data-wheel]").forEach(dress);
}

// Another tool reads in another step.
document.addEventListener("change", (event) => {
  const step = event.target.dataset?.step;
  const wheel = event.target.form?.querySelector("[data-wheel]");
  if (step && wheel && event.target.name === "tool") wheel.dataset.step = step;
});

document.addEventListener("bench:shown", dressAll);
dressAll();
