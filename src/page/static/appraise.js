// Appraise: a photo in, the answer stage by stage.

import { $, faultOf, memory, save, say, send } from "./page.js";
import { Photo } from "./photo.js";

const ask = $("ask");
let stopping = null;
let photo = null;

$("photo").addEventListener("change", () => begin());
$("camera-shot").hidden = false;
document.querySelector(".take").hidden = false;
$("camera-shot").addEventListener("change", (event) => take(event.target.files[0]));
$("invented").hidden = false;
$("invented").addEventListener("click", () => begin({ invented: "yes" }));
ask.addEventListener("submit", (event) => { event.preventDefault(); begin(); });

/** A file from a drop or from the camera, as if it had been chosen. */
function take(file) {
  if (!file) return;
  const hand = new DataTransfer();
  hand.items.add(file);
  $("photo").files = hand.files;
  begin();
}

for (const kind of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    document.body.classList.toggle("over", kind === "dragover");
    if (kind === "drop") take(event.dataTransfer.files[0]);
  });
}

/** Sends the form with what was pointed at. */
export async function begin(pointed = {}) {
  stopping?.abort();
  stopping = new AbortController();
  const form = new FormData(ask);
  for (const [name, value] of Object.entries(pointed)) {
    if (value === null) form.delete(name); else form.set(name, value);
  }
  $("ask-fault").textContent = $("stream-fault").textContent = "";
  progress(0.02, "Sending");
  const before = $("answer").querySelector(".verdict");
  before?.classList.add("before");
  try {
    const answer = await send("/", form, { headers: { accept: "text/event-stream" }, signal: stopping.signal });
    if (!answer.ok) {
      const fault = await faultOf(answer);
      if (answer.status === 503) return later(fault.words, pointed);
      return failed(fault.words);
    }
    for await (const [name, data] of events(answer.body)) told[name]?.(data, form);
    progress(null);
  } catch (why) {
    progress(null);
    if (why.name === "AbortError") failed("Stopped. What is not here yet is missing.");
  }
}

function later(words, pointed) {
  failed(words);
  setTimeout(() => begin(pointed), 5000);
}

const told = {
  step({ done, words }) { progress(done, words); },
  verdict({ html, spoken, where, what_if: whatIf, entry, name }, form) {
    photo?.close();
    $("first").hidden = true;
    $("answer").innerHTML = html;
    document.title = `${$("word").textContent} · foramen`;
    $("printed").prepend(`${name}, `);
    $("printed").append(`, ${new Date().toLocaleDateString()}`);
    memory.set("what-if", JSON.stringify(whatIf));
    memory.set("where", where);
    $("where").textContent = where;
    say(spoken);
    $("word").focus({ preventScroll: false });
    if (entry) $("keep").append(addition(entry, name));
    const back = $("back");
    if (back && form.get("photo")?.size) { back.hidden = false; back.onclick = () => question(null, form); }
    for (const link of document.querySelectorAll('.again a')) link.onclick = (event) => { event.preventDefault(); again(); };
  },
  point({ html }) { put("point", html); say("The point of light is here."); },
  picture({ html }) { put("picture", html); say("The picture is here."); },
  files({ files }) { progress(null); keep(files); },
  fault({ fault, photo: looked }, form) {
    progress(null);
    if (looked && form.get("photo")?.size) return question(looked, form, fault);
    failed(`${fault.wrong} ${fault.remedy}`);
  },
};

function put(id, html) {
  const place = $(id);
  if (!place) return;
  place.innerHTML = html;
  const window = place.querySelector(".window");
  window?.addEventListener("click", () => window.classList.toggle("alone"));
}

function again() {
  $("answer").replaceChildren();
  $("first").hidden = false;
  ask.reset();
  $("photo").focus();
  document.title = "Appraise · foramen";
}

function failed(words) {
  progress(null);
  $("first").hidden = Boolean($("answer").firstChild) && $("first").hidden;
  $($("first").hidden ? "stream-fault" : "ask-fault").textContent = words;
}

/** The holes to choose from and the scale to point at. */
function question(looked, form, fault) {
  photo?.close();
  $("first").hidden = true;
  photo = new Photo($("answer"), form.get("photo"), looked, fault?.wrong ?? "", (pointed) => begin(pointed));
}

function progress(done, words) {
  const line = $("progress");
  line.hidden = done === null;
  if (done === null) return;
  line.querySelector("progress").value = done;
  line.querySelector("span").textContent = words;
}
$("stop").addEventListener("click", () => stopping?.abort());
document.addEventListener("keydown", (event) => { if (event.key === "Escape") stopping?.abort(); });

const titles = {
  "report.html": "Report to print", "outline.csv": "Outline, CSV", "outline.svg": "Outline, SVG", "camera.toml": "Camera",
  "appraisal.json": "All numbers, JSON", "psf.png": "Plate of the light", "preview.png": "Plate of the picture", "outline.png": "Plate of the hole",
};

function keep(files) {
  const place = $("keep");
  place.querySelector("p")?.remove();
  for (const { name: file, kind, base64 } of files) {
    const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.file = file;
    button.textContent = titles[file] ?? file;
    button.onclick = () => save(file, new Blob([bytes], { type: kind }));
    place.append(button);
    if (file === "camera.toml" && !memory.get("camera")) memory.set("camera", new TextDecoder().decode(bytes));
  }
  const link = document.createElement("a");
  link.className = "button";
  link.href = "/what-if";
  link.textContent = "Try changes in What if";
  place.append(link);
}

function addition(entry, name) {
  const line = document.createElement("p");
  const field = document.createElement("input");
  const button = document.createElement("button");
  field.value = name;
  field.setAttribute("aria-label", "Name in the log");
  button.type = "button";
  button.textContent = "Add to the log";
  button.onclick = async () => {
    const form = new FormData();
    form.set("entry", entry);
    form.set("name", field.value);
    const answer = await send("/log", form);
    const words = answer.ok ? "Added." : (await faultOf(answer)).words;
    button.disabled = answer.ok;
    line.append(` ${words}`);
    say(words);
  };
  line.append(field, " ", button);
  return line;
}

// On paper nothing is folded away.
addEventListener("beforeprint", () => { for (const fold of document.querySelectorAll("details")) fold.open = true; });

/** Server-sent events from the body of an answer (WHATWG HTML, 9.2). */
async function* events(body) {
  const reader = body.pipeThrough(new TextDecoderStream()).getReader();
  for (let text = ""; ;) {
    const { value, done } = await reader.read();
    if (done) return;
    text += value;
    for (let end; (end = text.indexOf("\n\n")) >= 0; text = text.slice(end + 2)) {
      const lines = text.slice(0, end).split("\n");
      const part = (name) => lines.find((line) => line.startsWith(`${name}: `))?.slice(name.length + 2);
      yield [part("event"), JSON.parse(part("data"))];
    }
  }
}

