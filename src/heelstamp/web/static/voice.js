// Record while held: a spoken note, kept with the screen and the part it was made on. It goes up at once,
// or waits on this device until the shop can be reached. A key that is held does the same as a hand.
import { microphone } from "./capture.js";
import { keep, newId, send } from "./outbox.js";

const MOST_S = 120;
const MOST_BYTES = 10_000_000;
const LEAST_S = 0.5;
const form = document.querySelector("form[data-voice]");

function part() {
  const asked = new URLSearchParams(location.search).get("part");
  return asked ?? document.querySelector("#part [name=part]")?.value ?? "";
}

function dress() {
  const talk = document.createElement("button");
  const idle = "Record while held";
  talk.type = "button";
  talk.className = "talk";
  talk.textContent = idle;
  talk.setAttribute("aria-describedby", "talked");
  const said = document.createElement("p");
  said.id = "talked";
  said.className = "quiet";
  said.setAttribute("role", "status");
  form.querySelector("label").hidden = true;
  form.querySelector("label input").disabled = true;
  form.querySelector("button").hidden = true;
  form.prepend(talk, said);
  let held = false;
  let recorder = null;
  let ticking = 0;

  async function start() {
    if (held) return;
    held = true;
    said.textContent = "";
    try {
      const stream = await microphone({ measured: false });
      if (!held) {
        stream.getTracks().forEach((track) => track.stop()); // let go while the browser was asking
        said.textContent = "Hold the button while you talk.";
        return;
      }
      record(stream);
    } catch (error) {
      held = false;
      const barred = "The browser does not let this page hear: allow the microphone.";
      said.textContent = error.name === "NotAllowedError" ? barred : "No microphone here.";
    }
  }

  function record(stream) {
    const pieces = [];
    const began = performance.now();
    const seconds = () => (performance.now() - began) / 1000;
    recorder = new MediaRecorder(stream, { audioBitsPerSecond: 32_000 });
    recorder.addEventListener("dataavailable", ({ data }) => pieces.push(data));
    recorder.addEventListener("stop", () => {
      const length = seconds();
      clearInterval(ticking);
      stream.getTracks().forEach((track) => track.stop());
      delete talk.dataset.on;
      talk.textContent = idle;
      const sound = new Blob(pieces, { type: recorder.mimeType });
      recorder = null;
      held = false;
      if (length < LEAST_S) said.textContent = "Too short: hold the button while you talk.";
      else if (sound.size > MOST_BYTES) said.textContent = "Too large to keep: say it in two.";
      else put(sound, length);
    });
    talk.dataset.on = "";
    recorder.start(1000);
    ticking = setInterval(() => {
      talk.textContent = `Let go to keep, ${seconds().toFixed(0)} s`;
      if (seconds() >= MOST_S) stop();
    }, 250);
  }

  function stop() {
    held = false;
    if (recorder?.state === "recording") recorder.stop();
  }

  async function put(sound, length) {
    const data = new FormData(form);
    data.set("sound", sound, `spoken.${sound.type.includes("mp4") ? "m4a" : sound.type.includes("ogg") ? "ogg" : "webm"}`);
    data.set("part", part());
    data.set("id", newId().replace("o-", "r-"));
    data.set("made", new Date().toISOString());
    const entry = { path: new URL(form.action).pathname, fields: [...data], words: `spoken note of ${length.toFixed(0)} s` };
    try {
      const answer = await send(entry);
      if (answer.status >= 500 || answer.status === 401) throw new Error(String(answer.status));
      const refusal = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".refusal");
      said.textContent = answer.ok ? `Kept: ${entry.words}.` : (refusal?.textContent ?? "Not kept.");
    } catch {
      await keep(entry);
      said.textContent = "Waits on this device.";
      document.dispatchEvent(new CustomEvent("bench:kept"));
    }
  }

  talk.addEventListener("pointerdown", (event) => {
    talk.setPointerCapture(event.pointerId);
    start();
  });
  for (const end of ["pointerup", "pointercancel"]) talk.addEventListener(end, stop);
  talk.addEventListener("contextmenu", (event) => event.preventDefault());
  talk.addEventListener("keydown", (event) => {
    if (event.key !== " " && event.key !== "Enter") return;
    event.preventDefault();
    if (!event.repeat) start();
  });
  talk.addEventListener("keyup", (event) => {
    if (event.key === " " || event.key === "Enter") stop();
  });
  talk.addEventListener("blur", stop);
}

if (form && navigator.mediaDevices?.getUserMedia && window.MediaRecorder) dress();
