// Photographs go up in the background, one after another, each with its progress. One that cannot be
// sent is kept on this device, and goes up when the shop can be reached again. Files may be dropped
// anywhere on the page. Without this file the form sends one photograph as a plain page.
import { keep, newId } from "../../outbox.js";
import { parsed, show } from "../../region.js";
import { sent } from "../../upload.js";

const form = document.querySelector("form[data-photos]");
const sending = document.querySelector(".sending");
const fresh = document.querySelector(".tiles.new");
let queue = Promise.resolve();

function take(files) {
  for (const file of files) {
    const row = document.createElement("li");
    const bar = document.createElement("progress");
    bar.max = 1;
    bar.value = 0;
    bar.setAttribute("aria-label", file.name);
    const picture = document.createElement("img"); // from the file itself, before it has gone up
    picture.src = URL.createObjectURL(file);
    picture.alt = "";
    picture.addEventListener("load", () => URL.revokeObjectURL(picture.src), { once: true });
    row.append(picture, `${file.name} `, bar);
    sending.append(row);
    const told = Object.fromEntries(new FormData(form));
    const fields = { ...told, photo: file, id: newId().replace("o-", "f-"), made: new Date().toISOString() };
    if (files.length > 1) fields.slot = named(file.name) ? "" : told.slot;
    queue = queue.then(() => put(fields, row, bar));
  }
}

function named(name) {
  const stem = name.replace(/\.[^.]+$/, "").toLowerCase().replace(/-\d+$/, "");
  return [...form.elements.slot.options].some((one) => one.value === stem);
}

async function put(fields, row, bar) {
  try {
    const answer = await sent(form.action, fields, bar);
    if (answer.status >= 500 || answer.status === 401) throw new Error(String(answer.status));
    const page = parsed(answer.text);
    if (answer.status < 400) {
      row.remove();
      fresh.prepend(document.importNode(page.querySelector(".tiles.new li"), true));
      form.elements.slot.value = page.querySelector("select[name=slot]").value;
      show(page);
    } else {
      const said = page.querySelector(".refusal");
      bar.remove();
      row.append(said ? document.adoptNode(said) : answer.text);
    }
  } catch {
    const path = new URL(form.action).pathname;
    await keep({ path, fields: Object.entries(fields), words: `photograph ${fields.photo.name}` });
    row.remove();
    document.dispatchEvent(new Event("bench:kept"));
  }
}

document.querySelector(".files").hidden = false;
form.querySelector(".go").hidden = true;
for (const input of form.querySelectorAll("input[type=file]")) {
  input.addEventListener("change", () => {
    take([...input.files]);
    input.value = "";
  });
}
addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", (event) => {
  event.preventDefault();
  take([...event.dataTransfer.files].filter((one) => one.type.startsWith("image/") || /\.hei[cf]$/i.test(one.name)));
});
