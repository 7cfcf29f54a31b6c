// Takes a region of a page that was answered and shows it in place of the one that stands.

export function show(html, target) {
  const page = new DOMParser().parseFromString(html, "text/html");
  const drawing = page.getElementById("drawing");
  const here = document.getElementById("drawing");
  if (drawing && here) {
    const pieces = here.querySelector(".pieces");
    const place = pieces ? pieces.scrollLeft : 0;
    here.replaceWith(document.adoptNode(drawing));
    const now = document.querySelector("#drawing .pieces");
    if (now) now.scrollLeft = place;
  }
  const content = page.querySelector(target) ?? page.body;
  document.querySelector(target).replaceChildren(...document.adoptNode(content).childNodes);
  window.htmx?.process(document.body);
  document.dispatchEvent(new CustomEvent("bench:shown"));
}
