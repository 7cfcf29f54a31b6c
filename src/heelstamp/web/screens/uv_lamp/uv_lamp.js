// UV lamp: joins the view, what is drawn on it, the answer, the clock and the camera.
import { start as startCamera } from "./camera.js";
import { start as startClock } from "./clock.js";
import { Drawing } from "./draw.js";
import { View } from "./view.js";

startClock();
startCamera();
const page = document.querySelector(".lamp");
if (page) look();

function look() {
  const figure = page.querySelector(".view");
  const pair = { visible: page.dataset.visible, uv: page.dataset.uv };
  const view = new View(figure);
  const drawing = new Drawing(view, page.querySelector(".drawing-tools"), document.getElementById("draw"));
  const tools = page.querySelector(".tools");
  const wipe = tools.querySelector(".wipe input");
  tools.hidden = page.querySelector(".looking > .modes").hidden = false;
  wipe.addEventListener("input", () => view.setWipe(wipe.value / 1000));
  view.onwipe = () => { wipe.value = Math.round(view.wipe * 1000); };
  for (const one of tools.querySelectorAll("[data-zoom]")) {
    const acts = { in: () => view.zoom(1.5), out: () => view.zoom(1 / 1.5), all: () => { view.touched = false; view.all(); } };
    one.addEventListener("click", acts[one.dataset.zoom]);
  }
  const lines = tools.querySelector("[data-lines]");
  const showLines = () => view.lines && (view.lines.style.visibility = lines.getAttribute("aria-pressed") === "true" ? "" : "hidden");
  lines.addEventListener("click", () => { lines.setAttribute("aria-pressed", String(lines.getAttribute("aria-pressed") !== "true")); showLines(); });
  for (const one of page.querySelectorAll("[data-mode]:not(figure)")) {
    one.addEventListener("click", () => {
      const draw = one.dataset.mode === "draw";
      for (const other of page.querySelectorAll("[data-mode]:not(figure)")) other.setAttribute("aria-pressed", String(other === one));
      drawing.open(draw);
      if (draw && !drawing.marks.outline.length) drawing.say("Nothing is drawn yet. Let the program propose outline and parts, or tap the corners of the body.");
    });
  }

  function answered() {
    const plain = page.querySelector(".plain-pair");
    view.found(plain?.dataset.finding ?? "", plain?.querySelector("svg"), pair);
    showLines();
    for (const one of page.querySelectorAll(".draw-border")) one.hidden = false;
  }

  function point(number) {
    const region = view.lines?.querySelector(`[data-region="${number}"]`);
    if (!region) return;
    view.lines.querySelectorAll(".picked").forEach((one) => one.classList.remove("picked"));
    region.classList.add("picked");
    const corners = [...region.querySelector(".line:last-of-type, .line").points];
    const [xs, ys] = [corners.map((one) => one.x), corners.map((one) => one.y)];
    view.show([Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)]);
    figure.scrollIntoView({ block: "nearest" });
  }

  function border(form) {
    point(form.dataset.border);
    drawing.border(form.dataset.border, JSON.parse(form.elements.polygon.value), (polygon) => {
      form.elements.polygon.value = JSON.stringify(polygon.map((one) => one.map((value) => Math.round(value * 10) / 10)));
      form.requestSubmit(form.querySelector(".go"));
    });
  }

  // The list of regions is drawn anew by answers and by other devices: its buttons are heard here.
  page.addEventListener("click", (event) => {
    const button = event.target.closest(".goto, .draw-border");
    if (button?.matches(".goto")) point(button.dataset.region);
    else if (button) border(button.form);
  });
  document.addEventListener("bench:shown", answered);
  document.addEventListener("live:work", (event) => {
    const rough = page.querySelector(`[data-work="${CSS.escape(event.detail.pair)}"] .rough`);
    if (!rough || !event.detail.preview || !rough.hidden) return;
    rough.src = `${figure.dataset.home}/preview?${new URLSearchParams(pair)}`;
    rough.hidden = false;
  });
  answered();
}
