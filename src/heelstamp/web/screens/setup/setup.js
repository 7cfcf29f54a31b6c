// While the shop is out of reach a cell's wheel comes from what was fetched of all of them when the
// page was opened.
import { goOn, parsed } from "../../region.js";

const every = location.pathname.replace(/\/setup$/, "/takings");

async function fromDevice(address) {
  const take = new URL(address).searchParams.get("take");
  const page = parsed(await (await fetch(every)).text());
  const found = page.querySelector(`[data-take="${CSS.escape(take)}"]`);
  document.getElementById("take").replaceWith(document.adoptNode(found));
  for (const cell of document.querySelectorAll("a.cell")) {
    if (new URL(cell.href).searchParams.get("take") === take) cell.setAttribute("aria-current", "true");
    else cell.removeAttribute("aria-current");
  }
  document.dispatchEvent(new Event("bench:shown"));
  goOn("take");
}

document.addEventListener("bench:lost", (event) => {
  event.preventDefault();
  fromDevice(event.detail).catch(() => location.assign(event.detail));
});
if (navigator.serviceWorker?.controller) fetch(every).catch(() => {});
