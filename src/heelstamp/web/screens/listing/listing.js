// Copies a text to the clipboard where the browser lets it; without this file it is selected by hand.
function offer() {
  if (!navigator.clipboard) return;
  for (const one of document.querySelectorAll(".copy")) one.hidden = false;
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest(".copy");
  if (!button) return;
  await navigator.clipboard.writeText(document.getElementById(button.dataset.from).value);
  document.querySelector(".done").textContent = "Copied.";
});
document.addEventListener("bench:shown", offer);
offer();
