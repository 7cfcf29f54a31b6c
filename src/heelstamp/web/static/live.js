// Listens to the dossier that the page shows: progress of image work appears in place, and when the
// journal grew the live regions are taken anew from the same page. A region in which a person is
// writing, or holds a file or a tool, is left alone until that is done. The connection is given up
// while the page is hidden, for a browser opens only a few to one shop.
import { parsed, show } from "./region.js";

const tag = location.pathname.match(/^\/dossier\/([^/]+)\//)?.[1];
const main = document.getElementById("main");
let shown = Number(main?.dataset.length ?? 0); // length of the journal that the page shows
let source = null;
let asked = null;
let owed = false;

function connect() {
  if (source || document.hidden) return;
  source = new EventSource(`/dossier/${tag}/live`);
  for (const what of ["standing", "entered"]) {
    source.addEventListener(what, (event) => {
      const { length } = JSON.parse(event.data);
      if (length > shown || owed) refresh(length);
      document.documentElement.dataset.live = "on";
    });
  }
  source.addEventListener("work", (event) => work(JSON.parse(event.data)));
  source.addEventListener("error", () => delete document.documentElement.dataset.live);
}

function leave() {
  source?.close();
  source = null;
  delete document.documentElement.dataset.live;
}

function work(told) {
  document.dispatchEvent(new CustomEvent("live:work", { detail: told }));
  const place = document.querySelector(`[data-work="${CSS.escape(told.pair)}"]`) ?? elsewhere(told);
  const bar = place.querySelector("progress");
  if (bar) bar.value = told.share;
  place.querySelector(".stage").textContent = told.words;
  place.hidden = !told.open && !place.dataset.elsewhere;
  if (told.open) return;
  if (place.dataset.elsewhere) setTimeout(() => place.remove(), 8000);
  refresh(shown);
}

// On a screen that has no place for it, progress stands above the content.
function elsewhere(told) {
  const place = document.createElement("p");
  place.dataset.work = told.pair;
  place.dataset.elsewhere = "1";
  place.className = "quiet";
  place.setAttribute("role", "status");
  const stage = document.createElement("span");
  stage.className = "stage";
  const link = document.createElement("a");
  link.href = told.path;
  link.textContent = "UV lamp";
  place.append(link, ": ", stage);
  document.querySelector(".outbox").append(place);
  return place;
}

// Several entries at once need one look only.
function refresh(length) {
  shown = Math.max(shown, length);
  clearTimeout(asked);
  asked = setTimeout(swap, 120);
}

async function swap() {
  const regions = [...document.querySelectorAll("[data-region=live]")];
  owed = regions.some(busy);
  if (regions.every(busy)) return;
  try {
    const answer = await fetch(location.href);
    if (!answer.ok) return;
    const page = parsed(await answer.text());
    show(page, { wanted: (region) => regions.includes(region) && !busy(region) });
  } catch {
    owed = true; // out of reach: the next connection begins with what stands
  }
}

const WRITING = "input:not([type=checkbox], [type=radio], [type=image], [type=range]), textarea, select";

function busy(region) {
  const focused = document.activeElement;
  if (region.contains(focused) && focused.matches(WRITING)) return true;
  if (region.querySelector("[data-busy]")) return true;
  return [...region.querySelectorAll("input[type=file]")].some((one) => one.files.length);
}

// What was put off is done when the person has left the field.
document.addEventListener("focusout", () => owed && setTimeout(() => owed && refresh(shown), 400));

if (tag && main) {
  document.addEventListener("visibilitychange", () => (document.hidden ? leave() : connect()));
  addEventListener("pagehide", leave);
  addEventListener("pageshow", connect);
  connect();
}
