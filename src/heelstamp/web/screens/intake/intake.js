// The condensation timer counts down to the moment that the shop gave, by this device's clock. At its
// end it asks for another reading: no clock says that a case may be opened.

const two = (number) => String(number).padStart(2, "0");

function tick() {
  for (const one of document.querySelectorAll("[data-until]")) {
    const until = new Date(one.dataset.until);
    const left = Math.max(0, Math.round((until - Date.now()) / 1000));
    const clock = one.querySelector(".clock");
    if (clock) {
      clock.textContent = left ? `${Math.floor(left / 3600)} h ${two(Math.floor(left / 60) % 60)} min ${two(left % 60)} s` : "Read the case again";
    }
    const at = one.querySelector("time");
    if (at && !at.dataset.told) {
      at.textContent = until.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23", weekday: left > 43200 ? "short" : undefined });
      at.dataset.told = "yes";
    }
  }
}

document.addEventListener("bench:shown", tick);
setInterval(tick, 1000);
tick();
