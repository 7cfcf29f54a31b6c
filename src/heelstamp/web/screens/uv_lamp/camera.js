// Takes the UV-A frame with the visible one as a ghost over the camera's picture. Exposure and white
// balance are held where the camera lets a page do it; where it does not, that is said. A browser
// without a camera, or a page that is not allowed one, keeps the plain file field.
import { keep, newId } from "../../outbox.js";
import { sent } from "../../upload.js";

const form = document.querySelector("form[data-shot]");

async function through(figure, status) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 4096 } } });
  const video = document.createElement("video");
  video.playsInline = video.muted = true;
  video.srcObject = stream;
  figure.prepend(video);
  figure.classList.add("through");
  await video.play();
  const [track] = stream.getVideoTracks();
  setTimeout(() => hold(track).then((held) => { status.textContent = held; }), 1500); // once it has measured
  addEventListener("pagehide", () => track.stop(), { once: true });
  return { video, track };
}

async function hold(track) {
  const can = track.getCapabilities?.() ?? {};
  const wanted = {};
  if (can.exposureMode?.includes("manual")) wanted.exposureMode = "manual";
  if (can.whiteBalanceMode?.includes("manual")) wanted.whiteBalanceMode = "manual";
  if (!Object.keys(wanted).length) return "This camera does not let a page fix its exposure: take the pair with its own controls.";
  try {
    await track.applyConstraints({ advanced: [wanted] });
    return wanted.exposureMode ? "Exposure is held." : "White balance is held; exposure is not.";
  } catch {
    return "The camera did not take a fixed exposure.";
  }
}

async function picture({ video, track }) {
  if ("ImageCapture" in window) {
    try { return await new ImageCapture(track).takePhoto(); } catch { /* take the picture that is seen */ }
  }
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  canvas.getContext("2d").drawImage(video, 0, 0);
  return new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.95));
}

async function send(file) {
  const bar = form.querySelector("progress");
  bar.hidden = false;
  bar.value = 0;
  const fields = { ...Object.fromEntries(new FormData(form)), photo: file, id: newId().replace("o-", "f-"), made: new Date().toISOString() };
  try {
    const answer = await sent(form.action, fields, bar);
    if (answer.status >= 500 || answer.status === 401) throw new Error(String(answer.status));
    if (answer.status < 400) { location.assign(answer.address || location.href); return; }
    const said = new DOMParser().parseFromString(answer.text, "text/html").querySelector(".refusal");
    form.querySelector(".refusal")?.remove();
    if (said) form.prepend(document.adoptNode(said));
  } catch {
    await keep({ path: new URL(form.action).pathname, fields: Object.entries(fields), words: "photograph under UV-A" });
    document.dispatchEvent(new Event("bench:kept"));
  }
  bar.hidden = true;
}

export function start() {
  if (!form) return;
  const input = form.querySelector("input[type=file]");
  input.addEventListener("change", () => input.files.length && send(input.files[0]));
  form.addEventListener("submit", (event) => { event.preventDefault(); if (input.files.length) send(input.files[0]); });
  const open = form.querySelector(".look-through");
  if (!navigator.mediaDevices?.getUserMedia || !window.isSecureContext) return;
  open.hidden = false;
  open.addEventListener("click", async () => {
    const status = form.querySelector(".exposure");
    let camera;
    try { camera = await through(form.querySelector(".ghost"), status); } catch (error) {
      status.textContent = `The camera cannot be used here (${error.name}): choose a file instead.`;
      return;
    }
    open.hidden = true;
    const [shutter, strength] = [form.querySelector(".shutter"), form.querySelector(".strength")];
    shutter.hidden = strength.hidden = false;
    strength.querySelector("input").addEventListener("input", (event) => form.querySelector(".ghost").style.setProperty("--veil", event.target.value / 100));
    shutter.addEventListener("click", async () => {
      shutter.disabled = true;
      const taken = await picture(camera);
      const kind = taken.type === "image/png" ? "png" : "jpg";
      await send(new File([taken], `${form.elements.slot.value || "uv"}.${kind}`, { type: taken.type || "image/jpeg" }));
      shutter.disabled = false;
    });
    shutter.focus();
  });
}
