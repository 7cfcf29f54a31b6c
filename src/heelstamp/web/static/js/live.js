// Listens to the dossier that the page shows: progress of image work appears in place, and when the
// journal grew the regions marked data-live are taken anew from the same page. A region in which a
// person is writing, or has ticked or moved something not yet sent, is left alone until that is done.
// The connection is given up while the page is hidden, for a browser opens only a few to one shop.

const tag = location.pathname.match(/^\/dossier\/([^/]+)\//)?.[1];
const main = document.getElementById("main");
let shown = Number(main?.dataset.length ?? 0); // length of the journal that the page shows
let source = null;
let asked = null;
let owed = false;
let was = new WeakMap(); // what the shop last sent of each region, while nothing else has drawn it
for (const one of document.querySelectorAll("[data-live]")) was.set(one, one.innerHTML);
document.addEventListener("bench:shown", () => { was = new WeakMap(); });

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
  link.textContent = "Lamp";
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
  const regions = [...document.querySelectorAll("[data-live]")];
  if (!regions.length) return;
  owed = regions.some(busy);
  if (owed && regions.every(busy)) return;
  let page;
  try {
    const answer = await fetch(location.href, { headers: { accept: "text/html" } });
    if (!answer.ok) return;
    page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    owed = true; // out of reach: the next connection begins with what stands
    return;
  }
  const drawn = [];
  for (const here of regions) {
    const fresh = page.querySelector(here.id ? `#${CSS.escape(here.id)}` : `[data-live="${CSS.escape(here.dataset.live)}"]`);
    if (!fresh || !here.isConnected || busy(here) || fresh.innerHTML === was.get(here)) continue;
    const open = [...here.querySelectorAll("details")].map((one) => one.open);
    drawn.push([here, fresh.innerHTML]);
    const focused = again(document.activeElement, here);
    here.replaceChildren(...document.adoptNode(fresh).childNodes);
    [...here.querySelectorAll("details")].forEach((one, k) => (one.open = open[k] ?? one.open));
    if (focused) here.querySelector(focused)?.focus({ preventScroll: true });
  }
  if (!drawn.length) return;
  window.htmx?.process(document.body);
  document.dispatchEvent(new CustomEvent("bench:shown"));
  for (const [here, sent] of drawn) was.set(here, sent);
}

// What has the focus, as a selector that finds it again in the fresh region.
function again(focused, region) {
  if (!region.contains(focused)) return null;
  if (focused.id) return `#${CSS.escape(focused.id)}`;
  const form = focused.closest("form");
  return form && focused.name ? `form[action="${CSS.escape(form.getAttribute("action"))}"] [name="${CSS.escape(focused.name)}"]` : null;
}

function busy(region) {
  const focused = document.activeElement;
  if (region.contains(focused) && focused.matches("input:not([type=checkbox]):not([type=radio]):not([type=image]):not([type=range]), textarea, select")) return true;
  if (region.querySelector("[data-busy]")) return true;
  return [...region.querySelectorAll("input, textarea, select")].some(changed);
}

function changed(field) {
  if (field.closest("[data-no-entry]")) return false;
  if (field.matches("[type=checkbox], [type=radio]")) return field.checked !== field.defaultChecked;
  if (field.matches("[type=file]")) return field.files.length > 0;
  if (field.matches("[type=hidden], [type=image], [type=range]")) return false;
  if (field.matches("select")) {
    const told = [...field.options].some((one) => one.defaultSelected);
    return told && [...field.options].some((one) => one.selected !== one.defaultSelected);
  }
  return field.value !== field.defaultValue;
}

// What was put off is done when the person has left the field.
document.addEventListener("focusout", () => owed && setTimeout(() => owed && refresh(shown), 400));

if (tag && main) {
  document.addEventListener("visibilitychange", () => (document.hidden ? leave() : connect()));
  addEventListener("pagehide", leave);
  addEventListener("pageshow", connect);
  connect();
}
