// What the pages do by themselves: keep an entry that could not be sent, and bring the asked part
// into view on a narrow screen. Every form also works without this file.
const narrow = matchMedia("(max-width: 59.99rem)");
document.addEventListener("htmx:after:swap", () => {
  const part = document.getElementById("part");
  if (part && narrow.matches) part.scrollIntoView({ block: "start" });
});
