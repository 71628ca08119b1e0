// Camera: what is typed is checked as it is typed; the browser remembers the file.

import { $, faultOf, memory, rememberCamera, save, say, send } from "./page.js";

const form = $("camera-form");
const text = $("text");
let waiting = 0;

for (const name of ["save", "take"]) $(name).hidden = false;

/** Checks the form; `edited` says whether the fields or the text hold. */
async function check(edited, speak = false) {
  const data = new FormData(form);
  if (!edited) data.delete("edited");
  if (!$("open").files.length) data.delete("camera-file");
  const answer = await send("/camera/check", data);
  $("open").value = "";
  clear();
  if (!answer.ok) { tell(await faultOf(answer), speak); return; }
  const known = await answer.json();
  text.value = known.text;
  if (!edited) put(known);
  $("best").textContent = known.sentence;
  $("rule").innerHTML = known.rule;
  rememberCamera(known.text, known.where);
  say(known.sentence);
}

function put({ fields, name }) {
  form.elements.name.value = name;
  for (const [key, value] of Object.entries(fields)) {
    const field = form.elements[key];
    if (field.tagName === "SELECT" && ![...field.options].some((one) => one.value === value)) field.value = "";
    else field.value = value;
  }
}

function clear() {
  for (const one of form.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
  for (const line of form.querySelectorAll(".fault")) line.textContent = "";
}

function tell({ words, field }) {
  const place = field && document.getElementById(`${field.replace(".", "-")}-fault`);
  (place ?? $("camera-fault")).textContent = words;
  form.elements[field]?.setAttribute?.("aria-invalid", "true");
}

form.addEventListener("input", (event) => {
  if (event.target === text || event.target.type === "file") return;
  clearTimeout(waiting);
  waiting = setTimeout(() => check(true), 400);
});
form.addEventListener("submit", (event) => {
  // The bench card is a file to keep: the browser's own download.
  if (event.submitter?.id === "card") return;
  event.preventDefault();
  check(true, true);
});
$("open").addEventListener("change", () => check(false, true));
$("take").addEventListener("click", () => check(false, true));
$("save").addEventListener("click", () => save("camera.toml", new Blob([text.value], { type: "text/plain" })));

for (const button of form.querySelectorAll("[data-template]")) {
  button.addEventListener("click", (event) => {
    event.preventDefault();
    const mine = text.value;
    $("mine").hidden = false;
    $("mine").onclick = () => { text.value = mine; $("mine").hidden = true; check(false, true); };
    text.value = $("templates").content.querySelector(`[data-name=${button.dataset.template}]`).textContent;
    check(false, true);
  });
}

const remembered = memory.get("camera");
if (remembered) { text.value = remembered; check(false); }
