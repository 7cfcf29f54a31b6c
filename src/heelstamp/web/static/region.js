// Regions of a page drawn anew in place: the one way in which a page changes under the hand.
//
// A region has an id and data-region. Every answer is a whole page; of it each region is taken that
// the shop sent otherwise than before. The focus, what is typed and not sent, what is scrolled and
// what is folded open stay. data-region="live" is taken anew whenever the journal grew, too.
//
// <a data-in-place>, <form method=get data-in-place>: shown in place, with its address; names the
//   region that a narrow screen goes on to.
// data-fetch="address": asked for when it is shown; with data-after again and again, in milliseconds.
import { fill, forget, nameOf, stored, typed } from "./drafts.js";

const narrow = matchMedia("(max-width: 59.99rem)");
const told = new WeakMap(); // what the shop last sent of a region, and its attributes
const regions = () => [...document.querySelectorAll("[data-region]")];
const remember = (region, sent = region) => told.set(region, { html: sent.outerHTML, names: sent.getAttributeNames() });
regions().forEach((one) => remember(one));

export const parsed = (html) => new DOMParser().parseFromString(html, "text/html");

// Shows what changed of the regions that are wanted. The region of a form that was sent is always drawn.
export function show(page, { form = null, pressed = null, wanted = () => true } = {}) {
  const own = form?.closest("[data-region]");
  let drawn = false;
  for (const region of regions()) {
    const fresh = page.getElementById(region.id);
    if (!region.isConnected || !fresh || !wanted(region)) continue;
    if (region !== own && fresh.outerHTML === told.get(region)?.html) continue;
    replace(region, fresh, form, pressed);
    drawn = true;
  }
  if (drawn) document.dispatchEvent(new Event("bench:shown"));
  fetchAll();
}

function replace(region, fresh, form, pressed) {
  const names = told.get(region)?.names ?? [];
  remember(region, fresh);
  const kept = { ...stored(), ...typed(region) };
  if (form) delete kept[nameOf(form)];
  const unfold = folds(region);
  const scroll = scrolls(region);
  const focus = focused(region, pressed);
  names.filter((one) => !fresh.hasAttribute(one)).forEach((one) => region.removeAttribute(one));
  for (const { name, value } of fresh.attributes) region.setAttribute(name, value);
  region.replaceChildren(...document.adoptNode(fresh.cloneNode(true)).childNodes);
  fill(region, kept);
  unfold();
  scroll();
  focus?.();
}

// Elements of one kind in a region, each by a name and its number among those of the same name.
function byName(region, kind, nameFor) {
  const count = {};
  return new Map(
    [...region.querySelectorAll(kind)].map((one) => {
      const name = nameFor(one);
      count[name] = (count[name] ?? 0) + 1;
      return [`${name} ${count[name]}`, one];
    }),
  );
}

const foldName = (one) => one.querySelector("summary")?.textContent.replace(/\d+/g, "").trim();

function folds(region) {
  const before = [...byName(region, "details", foldName)].map(([name, one]) => [name, one.open]);
  return () => {
    const now = byName(region, "details", foldName);
    for (const [name, open] of before) if (now.has(name)) now.get(name).open = open;
  };
}

const SCROLLED = ".pieces, .wide, .drawn-wide, .taps, .picks, .large";

function scrolls(region) {
  const before = [...byName(region, SCROLLED, (one) => one.className)].map(([name, one]) => [name, one.scrollLeft, one.scrollTop]);
  return () => {
    const now = byName(region, SCROLLED, (one) => one.className);
    for (const [name, left, top] of before) now.get(name)?.scrollTo(left, top);
  };
}

// What tells a thing that can have the focus from the others of its region.
function focusName(one) {
  if (one.id) return `#${one.id}`;
  if (one.form) return `${nameOf(one.form)} ${one.tagName} ${one.name} ${one.tagName === "BUTTON" ? one.value : ""}`;
  return `${one.getAttribute("href") ?? one.textContent.replace(/\d+/g, "").trim()} ${one.tagName}`;
}

const FOCUSED = "button, input, select, textarea, a, summary, [tabindex]";

function focused(region, pressed) {
  const active = document.activeElement === document.body ? pressed : document.activeElement;
  if (!active || !region.contains(active)) return null;
  const at = [...byName(region, FOCUSED, focusName)].find(([, one]) => one === active)?.[0];
  const form = active.form && nameOf(active.form);
  return () => {
    const same = byName(region, FOCUSED, focusName).get(at);
    const inForm = [...region.querySelectorAll("form button")].filter((one) => form && nameOf(one.form) === form);
    const seen = [same, ...inForm, region.querySelector("[data-focus]")].find((one) => one?.checkVisibility() && !one.disabled);
    if (!seen) region.tabIndex = -1; // what was pressed is gone: go on from where it was
    (seen ?? region).focus({ preventScroll: true });
  };
}

// Shows the answer to a form; its address is the page's now.
export async function answered(answer, form, pressed = null) {
  forget(form);
  const address = new URL(answer.url);
  if (answer.redirected && address.pathname === location.pathname) history.replaceState(history.state, "", address);
  const page = parsed(await answer.text());
  show(page, { form, pressed });
  return page;
}

// Puts into a form what the shop said against it.
export function refuse(form, html) {
  form.querySelector(".refusal")?.remove();
  const said = parsed(html).querySelector(".refusal");
  if (said) form.prepend(document.adoptNode(said));
  form.querySelector(".refusal")?.scrollIntoView({ block: "nearest" });
}

let visits = 0;

async function visit(address, { push = true, to = "", pressed = null } = {}) {
  const visit = ++visits;
  let answer;
  try {
    answer = await fetch(address);
  } catch {
    const lost = new CustomEvent("bench:lost", { detail: address, cancelable: true });
    if (document.dispatchEvent(lost)) location.assign(address);
    return;
  }
  if (visit !== visits) return; // another was asked for since
  if (!answer.ok || new URL(answer.url).pathname !== location.pathname) {
    location.assign(address);
    return;
  }
  if (push) history.pushState(null, "", address);
  here = location.pathname + location.search;
  show(parsed(await answer.text()), { pressed });
  goOn(to);
}

export function goOn(to) {
  const region = to && document.getElementById(to);
  if (region && narrow.matches) region.scrollIntoView({ block: "start" });
  region?.querySelector?.("[data-focus]")?.focus({ preventScroll: true });
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-in-place]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  visit(new URL(link.getAttribute("href"), location), { to: link.dataset.inPlace, pressed: link });
});
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-in-place]")) return;
  event.preventDefault();
  const address = new URL(form.action);
  address.search = new URLSearchParams(new FormData(form, event.submitter));
  visit(address, { to: form.dataset.inPlace, pressed: event.submitter });
});
let here = location.pathname + location.search;
addEventListener("popstate", () => {
  if (here !== location.pathname + location.search) visit(location.href, { push: false });
  here = location.pathname + location.search;
});

const waiting = new WeakSet();

function fetchAll() {
  for (const one of document.querySelectorAll("[data-fetch]")) {
    if (waiting.has(one)) continue;
    waiting.add(one);
    setTimeout(() => ask(one), Number(one.dataset.after ?? 0));
  }
}

async function ask(one) {
  const address = new URL(one.dataset.fetch ?? "", location);
  const again = one.dataset.after !== undefined;
  try {
    const answer = await fetch(address, { cache: "no-store" });
    if (answer.redirected && new URL(answer.url).pathname !== address.pathname) {
      location.assign(answer.url);
      return;
    }
    const page = answer.ok ? parsed(await answer.text()) : null;
    if (again && page && !page.getElementById(one.id)) location.reload();
    if (again) waiting.delete(one);
    if (page) show(page);
  } catch {
    waiting.delete(one); // no connection just now
  }
  if (again) fetchAll();
}

fetchAll();
