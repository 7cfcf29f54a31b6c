// The dose clock: counts while the lamp is on, also without a connection, and warns by words, sound
// and a buzz before the limit for unprotected eyes. The taps are entries of the page's own form; what
// this device knows of a lamp that the shop has not heard of yet is kept in this browser.

const NAME = `lamp-on-${location.pathname.split("/")[2]}`;
let warned = 0;

const box = () => document.getElementById("clock");
const told = (seconds) => `${Math.floor(seconds / 60)} min ${String(Math.floor(seconds % 60)).padStart(2, "0")} s`;

// What this device tapped holds until the shop's page shows that it has heard of it.
function since() {
  const kept = JSON.parse(localStorage.getItem(NAME) ?? "null");
  const { since: shop = "", earlier } = box().dataset;
  if (!kept) return shop ? { on: shop } : {};
  const heard = kept.on ? shop || earlier !== kept.earlier : !shop && earlier !== kept.earlier;
  if (!heard) return kept.on ? { on: kept.on } : { before: kept.before };
  localStorage.removeItem(NAME);
  return shop ? { on: shop } : {};
}

function tick() {
  const clock = box();
  if (!clock) return;
  const { on, before = 0 } = since();
  const running = on ? Math.max(0, (Date.now() - Date.parse(on)) / 1000) : before;
  const total = Number(clock.dataset.earlier) + running;
  const limit = Number(clock.dataset.limit ?? 0);
  clock.toggleAttribute("data-running", Boolean(on));
  const [turnOn, turnOff] = clock.querySelectorAll(".switch");
  turnOn.hidden = Boolean(on);
  turnOff.hidden = !on;
  clock.querySelector(".ran").textContent = told(total);
  clock.querySelector(".share rect")?.setAttribute("width", `${(100 * Math.min(1, total / limit)).toFixed(1)}%`);
  const stage = limit ? (total >= limit ? 2 : total >= Number(clock.dataset.warn) ? 1 : 0) : 0;
  const words = ["", `Over four fifths of the limit: ${told(Math.max(0, limit - total))} left for eyes without goggles.`, "Over the limit for eyes without goggles: no more today."][stage];
  const place = clock.querySelector(".warned");
  if (place.dataset.stage !== String(stage)) { // said once, not each second
    place.textContent = words;
    place.dataset.stage = String(stage);
  }
  if (on && stage > warned) sound(stage);
  warned = on ? stage : 0;
}

function sound(times) {
  navigator.vibrate?.(Array(2 * times).fill(300));
  try {
    const context = new AudioContext();
    for (let k = 0; k < 2 * times; k += 1) {
      const tone = context.createOscillator();
      tone.frequency.value = 880;
      tone.connect(context.destination);
      tone.start(context.currentTime + 0.5 * k);
      tone.stop(context.currentTime + 0.5 * k + 0.25);
    }
    setTimeout(() => context.close(), 1500 * times);
  } catch { /* no sound on this device: the words stand */ }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.closest("#clock") || event.submitter?.name !== "to") return;
  const now = new Date().toISOString();
  const { on } = since();
  const { earlier } = box().dataset;
  const ran = on ? (Date.parse(now) - Date.parse(on)) / 1000 : 0;
  localStorage.setItem(NAME, JSON.stringify(event.submitter.value === "on" ? { on: now, earlier } : { before: ran, earlier }));
  setTimeout(tick);
}, true);

export function start() {
  if (!box()) return;
  tick();
  setInterval(tick, 1000);
  document.addEventListener("bench:shown", tick);
}
