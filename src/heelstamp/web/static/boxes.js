// Says beside a field, as soon as it is left, which characters a paper will show as a box.
let table;

async function shown() {
  table ??= fetch("/static/shown.txt").then(async (answer) => {
    if (!answer.ok) throw new Error(String(answer.status));
    return (await answer.text()).trim().split("\n").map((row) => row.split(" ").map((one) => parseInt(one, 16)));
  });
  return table;
}

const always = /[\s\p{Cf}\p{Zl}\p{Zp}\u00ad\ufe00-\ufe0f]/u;

function boxed(text, rows) {
  const found = new Set();
  for (const char of text.normalize("NFC")) {
    if (always.test(char)) continue;
    const code = char.codePointAt(0);
    const known = rows.some(([first, last]) => first <= code && code <= last);
    if (!known || /[\p{Co}\p{Cn}]/u.test(char)) found.add(char);
  }
  return [...found];
}

document.addEventListener("change", async (event) => {
  const field = event.target;
  if (!field.matches("textarea, input:not([type]), input[type=text], input[type=search]")) return;
  let said = field.nextElementSibling?.matches(".boxed") ? field.nextElementSibling : null;
  let found = [];
  try {
    if (/[^\x00-\x7f]/.test(field.value)) found = boxed(field.value, await shown());
  } catch {
    table = undefined; // without the shop nothing is said
  }
  if (!found.length) {
    said?.remove();
    return;
  }
  if (!said) {
    said = document.createElement("p");
    said.className = "boxed";
    said.setAttribute("role", "status");
    field.after(said);
  }
  said.textContent = `Papers show \u25a1 for ${found.slice(0, 8).join(" ")}; the record keeps it as typed.`;
});
