// What is typed into a form and not sent yet, kept in this browser by the form and the page's address,
// so that another page, another light or a lost tab takes nothing away. Sent, it is forgotten.

const { account = "" } = document.documentElement.dataset;
const PLACE = `draft ${account} ${location.pathname}`;
const SENT = "draft sent";
const PASSING = ["id", "made", "base", "take"]; // hidden fields that do not tell one form from another
const TAKEN = "input:not([type=hidden], [type=password], [type=file], [type=image], [type=range]), select, textarea";

// What tells a form from the others of its page, also after its part was drawn anew.
export function nameOf(form) {
  const hidden = [...form.querySelectorAll("input[type=hidden]")].filter((one) => !PASSING.includes(one.name));
  return [form.getAttribute("action"), form.dataset.words ?? "", ...hidden.map((one) => `${one.name}=${one.value}`)].join("|");
}

const ticked = (field) => field.matches("[type=checkbox], [type=radio]");
const fieldsOf = (form) => [...form.elements].filter((one) => one.name && one.matches(TAKEN));

function changed(field) {
  if (ticked(field)) return field.checked !== field.defaultChecked;
  if (!field.matches("select")) return field.value !== field.defaultValue;
  const options = [...field.options];
  const first = options.some((one) => one.defaultSelected) ? options.filter((one) => one.defaultSelected) : options.slice(0, 1);
  return options.some((one) => one.selected !== first.includes(one));
}

// The changed fields of every form in a place, by the form's name.
export function typed(place) {
  const found = {};
  for (const form of place.matches("form") ? [place] : place.querySelectorAll("form")) {
    if (form.dataset.noDraft !== undefined) continue;
    const fields = fieldsOf(form).map((one, k) => [k, one]).filter(([, one]) => changed(one));
    const told = fields.map(([k, one]) => [k, one.name, ticked(one) ? one.checked : one.value]);
    if (told.length) found[nameOf(form)] = told;
  }
  return found;
}

// Puts them back; gives the forms that were filled.
export function fill(place, drafts) {
  const filled = [];
  for (const form of place.querySelectorAll("form")) {
    const fields = fieldsOf(form);
    for (const [k, name, value] of drafts[nameOf(form)] ?? []) {
      const field = fields[k];
      if (field?.name !== name) continue;
      if (ticked(field)) field.checked = value;
      else field.value = value;
      if (!filled.includes(form)) filled.push(form);
    }
  }
  return filled;
}

export const stored = () => JSON.parse(localStorage.getItem(PLACE) ?? "{}");

function store(drafts, place = PLACE) {
  if (Object.keys(drafts).length) localStorage.setItem(place, JSON.stringify(drafts));
  else localStorage.removeItem(place);
}

export function forget(form) {
  const { [nameOf(form)]: _, ...others } = stored();
  store(others);
}

function keep({ target }) {
  const form = target.form;
  if (form?.method !== "post" || !form.closest("main")) return;
  const { [nameOf(form)]: _, ...others } = stored();
  store({ ...others, ...typed(form) });
}

// Says that a form holds what was typed earlier, for it must not be taken for what is read now.
function say(form) {
  const note = document.createElement("p");
  note.className = "draft quiet";
  const clear = document.createElement("button");
  clear.type = "button";
  clear.textContent = "Clear it";
  clear.addEventListener("click", () => {
    form.reset();
    forget(form);
    note.remove();
  });
  note.append("Typed here earlier and not entered. ", clear);
  form.prepend(note);
  for (const one of form.querySelectorAll("details")) one.open ||= Object.keys(typed(form)).length > 0;
  for (let one = form.closest("details"); one; one = one.parentElement.closest("details")) one.open = true;
}

// A form that was sent as a plain page is forgotten when the answer is no refusal.
const [place, name] = JSON.parse(sessionStorage.getItem(SENT) ?? "[]");
sessionStorage.removeItem(SENT);
if (place && !document.querySelector("main .refusal[role=alert]")) {
  const { [name]: _, ...others } = JSON.parse(localStorage.getItem(place) ?? "{}");
  store(others, place);
}
addEventListener("submit", ({ target, defaultPrevented }) => {
  if (!defaultPrevented) sessionStorage.setItem(SENT, JSON.stringify([PLACE, nameOf(target)]));
});
for (const one of ["input", "change"]) document.addEventListener(one, keep);
fill(document.getElementById("main"), stored()).forEach(say);
