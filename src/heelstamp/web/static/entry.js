// One tap, one entry: sends it, or keeps it on this device until the shop can be reached again.
// Every form also works without this file, as a plain page. data-online: what is done only on what the
// person sees now, as issuing a paper, is never kept for later.
import { forget } from "./drafts.js";
import { drop, dropLast, flush, keep, newId, ours, send, signedOut, waiting } from "./outbox.js";
import { answered, parsed, refuse } from "./region.js";

const note = document.querySelector(".waiting");
const done = document.querySelector(".done");

function tell(entries) {
  const refused = entries.filter((one) => one.refused && ours(one));
  const others = entries.filter((one) => !ours(one)).length;
  const still = entries.length - refused.length - others;
  const words = [];
  if (still) words.push(`${still} ${still === 1 ? "entry waits" : "entries wait"} on this device for the shop.`);
  if (still && signedOut) words.push("Sign in again to send.");
  const wait = others === 1 ? "waits" : "wait";
  if (others) words.push(`${others} of another account ${wait} until it signs in here again.`);
  if (refused.length) words.push(`${refused.length} could not be entered: decide below.`);
  note.textContent = words.join(" ");
  note.hidden = !words.length;
  const list = document.getElementById("undecided");
  list.replaceChildren(...refused.map(undecided));
  list.hidden = !refused.length;
}

function undecided(entry) {
  const item = document.createElement("li");
  const said = parsed(entry.refused).querySelector(".refusal");
  const kept = document.createElement("p");
  kept.textContent = `This device says: ${entry.words}.`;
  const mine = button("Enter mine after all", async () => {
    const fields = entry.fields.map(([name, value]) => [name, name === "base" ? "" : value]);
    await drop(entry.number);
    await keep({ path: entry.path, fields, words: entry.words });
    await flush(tell);
    location.reload();
  });
  const theirs = button("Leave it out", async () => {
    await drop(entry.number);
    tell(await waiting());
  });
  item.append(kept, ...(said ? [document.adoptNode(said)] : []), mine, theirs);
  return item;
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

// A second press within the time of a double one, of the same thing, is not a second entry.
const DOUBLE_MS = 700;
let last = { what: "", at: 0 };
function twice(path, data) {
  if ([...data].some(([, value]) => value instanceof File && value.size)) return false;
  const what = path + JSON.stringify([...data].filter(([name]) => !["id", "made", "base"].includes(name)));
  const again = what === last.what && performance.now() - last.at < DOUBLE_MS;
  last = { what, at: performance.now() };
  return again;
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-entry]")) return;
  event.preventDefault();
  const data = new FormData(form, event.submitter);
  const undo = form.matches(".undo");
  if (undo && (await takenBackHere(form))) return;
  data.set("id", newId());
  data.set("made", new Date().toISOString());
  const path = new URL(form.action).pathname;
  if (twice(path, data)) return;
  const entry = { path, fields: [...data], words: spoken(form, event.submitter) };
  event.submitter?.setAttribute("aria-busy", "true");
  form.querySelector(".refusal")?.remove();
  try {
    const answer = await send(entry);
    if (answer.status >= 500) throw new Error(String(answer.status));
    if (answer.ok && undo) location.assign(answer.url); // the page offers to put it back
    else if (answer.ok) {
      await answered(answer, form, event.submitter);
      done.textContent = `Entered: ${entry.words}`;
    } else if (answer.status === 409 && data.get("base")) {
      await keep({ ...entry, refused: await answer.text() });
      tell(await waiting());
    } else refuse(form, await answer.text());
  } catch {
    if (form.dataset.online !== undefined) {
      last.what = ""; // pressed again, it is meant
      refuse(form, '<p class="refusal" role="alert">The shop could not be reached, and nothing was done. Press again when it can.</p>');
      return;
    }
    await keep(entry);
    forget(form);
    event.submitter?.setAttribute("aria-pressed", "true");
    tell(await waiting());
  } finally {
    event.submitter?.removeAttribute("aria-busy");
  }
});

// Taking back begins with what has not left this device: it was never entered.
async function takenBackHere(form) {
  const mine = await dropLast(new URL(form.action).pathname.replace(/undo$/, ""));
  if (!mine) return false;
  done.textContent = `Taken back, before it was sent: ${mine.words}`;
  tell(await waiting());
  return true;
}

function spoken(form, pressed) {
  const legend = form.dataset.words ?? form.closest("fieldset")?.querySelector("legend")?.firstChild?.textContent.trim();
  const written = form.querySelector("input[name=value]:not([type=hidden])")?.value;
  return `${legend ?? ""}: ${written ?? pressed?.textContent.trim().replace(/\s+/g, " ") ?? ""}`;
}

// A photograph chosen in such a form is sent by choosing it.
document.documentElement.classList.add("scripted");
document.addEventListener("change", (event) => {
  if (event.target.matches("form[data-at-once] input[type=file]")) event.target.form.requestSubmit();
});

// A drawing wider than the screen begins with its ranges in view.
function inView() {
  for (const one of document.querySelectorAll(".drawn-wide .ranges")) {
    const frame = one.closest(".drawn-wide");
    const place = one.getBoundingClientRect();
    frame.scrollLeft += place.left + place.width / 2 - frame.getBoundingClientRect().left - frame.clientWidth / 2;
  }
}
inView();
document.addEventListener("bench:shown", inView);

document.querySelector(".way [aria-current]")?.scrollIntoView({ inline: "center", block: "nearest" });
addEventListener("online", () => flush(tell));
document.addEventListener("bench:kept", async () => tell(await waiting())); // by another script of the page
setInterval(() => waiting().then((entries) => entries.length && flush(tell)), 15_000);
flush(tell);

navigator.serviceWorker?.register("/worker.js");
