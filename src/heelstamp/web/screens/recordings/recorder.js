// Records a note or a take of a control in the page, or takes a file, and sends it; what cannot be
// sent waits on this device. Without this file the form sends a file as a plain page.
import { capture, microphone } from "../../capture.js";
import { forget } from "../../drafts.js";
import { keep, newId, send } from "../../outbox.js";
import { answered, refuse } from "../../region.js";

const LOUD = 0.985; // of full scale: taken for clipped
const recorded = new WeakMap(); // what was recorded for a form and not yet sent

function dress(place) {
  if (place.querySelector(".record")) return;
  const form = place.closest("form");
  const said = place.querySelector(".heard");
  const hint = said.textContent;
  const record = document.createElement("button");
  record.type = "button";
  record.className = "record press";
  record.textContent = "Record";
  const level = document.createElement("meter");
  level.max = 1;
  level.high = LOUD;
  level.hidden = true;
  level.setAttribute("aria-label", "Level");
  const listen = document.createElement("audio");
  listen.controls = true;
  listen.hidden = true;
  place.prepend(record);
  said.before(level, listen);
  let stop = null;

  async function start() {
    const most = Number(place.dataset.most);
    let loud = false;
    let ended = false;
    level.hidden = false;
    record.textContent = "Stop";
    try {
      stop = await capture(await microphone({ measured: true }), (seconds, peak) => {
        level.value = peak;
        loud ||= peak >= LOUD;
        said.textContent = `${seconds.toFixed(1)} s${loud ? "; too loud: turn down and record again" : ""}`;
        if (seconds >= most && !ended) {
          ended = true;
          end();
        }
      });
    } catch (error) {
      stop = null;
      level.hidden = true;
      record.textContent = "Record";
      const barred = "The browser does not let this page hear: allow the microphone, or choose a file.";
      said.textContent = error.name === "NotAllowedError" ? barred : "No microphone here: choose a file.";
    }
  }

  async function end() {
    if (!stop) return;
    const finish = stop;
    stop = null;
    const sound = await finish();
    level.hidden = true;
    record.textContent = "Record again";
    recorded.set(form, sound);
    form.querySelector("input[type=file]").required = false;
    if (listen.src) URL.revokeObjectURL(listen.src);
    listen.src = URL.createObjectURL(sound);
    listen.hidden = false;
  }

  record.addEventListener("click", () => (stop ? end() : start()));
  form.querySelector("input[type=file]").addEventListener("change", (event) => {
    recorded.delete(form);
    event.target.required = true;
    said.textContent = event.target.files[0]?.name ?? hint;
  });
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-sound]")) return;
  event.preventDefault();
  const data = new FormData(form);
  if (recorded.has(form)) data.set("sound", recorded.get(form), "recording.wav");
  data.set("id", newId().replace("o-", "r-"));
  data.set("made", new Date().toISOString());
  const entry = { path: new URL(form.action).pathname, fields: [...data], words: `${form.dataset.words}: a recording` };
  const go = form.querySelector(".go");
  go.disabled = true;
  try {
    const answer = await send(entry);
    if (answer.status >= 500 || answer.status === 401) throw new Error(String(answer.status));
    if (answer.ok) await answered(answer, form, event.submitter);
    else refuse(form, await answer.text());
  } catch {
    await keep(entry);
    forget(form);
    document.dispatchEvent(new CustomEvent("bench:kept"));
  }
  go.disabled = false;
});

const dressAll = () => document.querySelectorAll("[data-recorder]").forEach(dress);
document.addEventListener("bench:shown", dressAll);
if (navigator.mediaDevices?.getUserMedia) dressAll();
