// Looks again until what is awaited has come: draws the region anew when it changed, and follows
// where the answer leads. Without this file the page has a link that looks again.
const region = document.getElementById("awaited");

async function look() {
  const answer = await fetch(location.href, { cache: "no-store" });
  if (answer.redirected) {
    location.assign(answer.url);
    return false;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const now = page.getElementById("awaited");
  if (!now) {
    location.reload();
    return false;
  }
  if (now.innerHTML !== region.innerHTML) {
    region.replaceChildren(...document.adoptNode(now).cloneNode(true).childNodes);
    if (now.dataset.await === undefined) delete region.dataset.await;
  }
  return region.dataset.await !== undefined;
}

async function go() {
  let on = true;
  try {
    on = await look();
  } catch {
    // no connection just now: look again later
  }
  if (on) setTimeout(go, Number(region.dataset.await));
}

if (region?.dataset.await) setTimeout(go, Number(region.dataset.await));
