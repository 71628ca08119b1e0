// What if: the light follows the hand. One request is on its way at a time; the newest wish comes next.

import { $, copied, faultOf, isTyping, memory, save, say, send } from "./page.js";
import * as draw from "./draw.js";

const form = $("bench");
const field = (name) => form.elements[name];
const shown = { beside: true, own: false, faint: true };
const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
let last = null;
let constant = "";
let wish = null;
let underWay = false;
let resting = 0;
let speaking = 0;

/** Asks for the light of the sliders; coarse while a camera's slider moves, exact when the hand rests. */
function ask(coarse = false) {
  wish = { coarse: coarse && constant !== "" };
  clearTimeout(resting);
  if (coarse) resting = setTimeout(() => ask(false), 250);
  if (!underWay) fetchWish();
}

async function fetchWish() {
  underWay = true;
  while (wish) {
    const data = new FormData(form);
    if (wish.coarse) data.set("constant", constant);
    wish = null;
    try {
      const answer = await send("/what-if/light", data);
      if (answer.ok) { tell(null); show(draw.unpack(await answer.arrayBuffer())); }
      else if (answer.status !== 503) tell(await faultOf(answer));
    } catch { break; }
  }
  underWay = false;
}

function tell(fault) {
  for (const input of form.querySelectorAll("[aria-invalid]")) input.removeAttribute("aria-invalid");
  for (const line of form.querySelectorAll(".fault")) line.textContent = "";
  if (!fault) return;
  const place = fault.field && $(`${fault.field}-fault`);
  (place ?? $("fault")).textContent = `${fault.words} Shown: the last good value.`;
  if (place) field(fault.field).setAttribute("aria-invalid", "true");
}

function show(light) {
  last = light;
  if (light.rule) {
    const focused = document.activeElement?.id === "handle";
    $("rule").innerHTML = light.rule;
    constant = light.constant;
    handle();
    if (focused) $("handle").focus();
  }
  paint();
  $("loss").firstChild.textContent = `${light.loss_jnd.toFixed(1)} `;
  $("words").textContent = `${light.words[0].toUpperCase()}${light.words.slice(1)}.`;
  draw.moveSteps($("steps"), light.loss_jnd);
  const rule = document.querySelector(".rule");
  if (rule) draw.moveRule(rule, light.diameter_mm);
  const words = `${light.diameter_mm.toPrecision(3)} mm, ${light.loss_jnd.toFixed(1)} jnd lost, ${light.words}`;
  $("handle")?.setAttribute("aria-valuetext", words);
  clearTimeout(speaking);
  speaking = setTimeout(() => say(words), 600);
  document.body.dataset.shown = Number(document.body.dataset.shown ?? 0) + 1;
}

function paint() {
  if (!last) return;
  draw.hole($("window-hole"), last, shown);
  draw.point($("window-point").querySelector("canvas"), last, shown);
  draw.contrast($("window-contrast"), last, shown);
  draw.picture($("window-picture").querySelector("canvas"), last, shown);
  for (const name of ["point", "picture"]) $(`window-${name}`).classList.toggle("alone", !shown.beside);
  $("about-picture").textContent = `${(last.frame.part_mm * (shown.beside ? 0.5 : 1)).toPrecision(2)} mm wide on the film`;
  $("about-point").textContent = `${(2 * last.frame.half_mm).toPrecision(2)} mm wide`;
  $("about-contrast").textContent = "line pairs per mm";
}

// The diameter: the rule's own line is its handle.
function handle() {
  const one = $("handle");
  one.oninput = () => {
    const { low, high } = one.parentElement.dataset;
    diameter(low * (high / low) ** (one.value / 1000));
  };
  one.onkeydown = (event) => {
    if (event.key === "Backspace") reset("d");
    if (event.shiftKey && event.key.startsWith("Arrow")) jump(one, event);
  };
  one.ondblclick = () => reset("d");
}

function diameter(mm) {
  field("d").value = mm.toPrecision(4);
  const rule = document.querySelector(".rule");
  if (rule) draw.moveRule(rule, mm);
  ask();
}

function jump(one, event) {
  event.preventDefault();
  const way = ["ArrowRight", "ArrowUp"].includes(event.key) ? 10 : -10;
  one.value = Number(one.value) + way * Number(one.step);
  one.dispatchEvent(new Event("input"));
}

// A slider and its typed value.
const sliders = [...form.querySelectorAll("input[data-for]")];
const camera = new Set(["film", "subject", "light", "movement", "print", "metal", "place"]);

function toValue(one) {
  const along = one.value / 1000;
  const low = Number(one.dataset.low);
  const high = Number(one.dataset.high);
  switch (one.dataset.way) {
    case "ratio": return low * (high / low) ** along;
    case "inverse": return along >= 1 ? Infinity : low / (1 - along);
    default: return low + (high - low) * along;
  }
}

function toPlace(one, value) {
  const low = Number(one.dataset.low);
  const high = Number(one.dataset.high);
  switch (one.dataset.way) {
    case "ratio": return (1000 * Math.log(value / low)) / Math.log(high / low);
    case "inverse": return 1000 * (1 - low / value);
    default: return (1000 * (value - low)) / (high - low);
  }
}

function follow(one) {
  const typed = field(one.dataset.for).value.trim();
  const value = typed === "far" ? Infinity : parseFloat(typed);
  one.value = Number.isNaN(value) ? 500 : toPlace(one, value);
  one.setAttribute("aria-valuetext", typed);
}

for (const one of sliders) {
  const name = one.dataset.for;
  one.addEventListener("input", () => {
    const value = toValue(one);
    field(name).value = value === Infinity ? "far" : Number(value.toPrecision(3));
    one.setAttribute("aria-valuetext", field(name).value);
    ask(camera.has(name));
  });
  one.addEventListener("keydown", (event) => {
    if (event.key === "Backspace") reset(name);
    if (event.shiftKey && event.key.startsWith("Arrow")) jump(one, event);
  });
  one.addEventListener("dblclick", () => reset(name));
  field(name).addEventListener("change", () => { follow(one); ask(); });
}
field("d").addEventListener("change", () => ask());
form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });

function reset(name) {
  const own = hole();
  field(name).value = own[name] ?? field(name).defaultValue;
  const one = sliders.find((slider) => slider.dataset.for === name);
  if (one) follow(one);
  ask();
}

/** The hole that was appraised last, or the one of the example. */
function hole() {
  try { return JSON.parse(memory.get("what-if") || "{}"); } catch { return {}; }
}

function start() {
  for (const input of form.querySelectorAll("input[name]:not([type=hidden])")) input.value = input.defaultValue;
  for (const [name, value] of Object.entries(hole())) {
    const high = sliders.find((one) => one.dataset.for === name)?.dataset.high;
    if (field(name)) field(name).value = high && value > Number(high) ? high : value;
  }
  sliders.forEach(follow);
  ask();
}

// The view.
function toggle(name, key) {
  const button = $(name);
  button.addEventListener("click", () => {
    shown[key] = !shown[key];
    button.setAttribute("aria-pressed", shown[key]);
    paint();
  });
}
toggle("beside", "beside");
toggle("own", "own");
toggle("faint", "faint");
$("fill").addEventListener("click", () => fill(!document.documentElement.classList.contains("filled")));

function fill(is) {
  document.documentElement.classList.toggle("filled", is);
  $("fill").setAttribute("aria-pressed", is);
  if (is) document.documentElement.requestFullscreen?.().catch(() => {});
  else if (document.fullscreenElement) document.exitFullscreen();
}

// From half to twice the best in twelve seconds, or in nine still steps.
let widening = 0;
let stepped = 0;

function widen() {
  if (still) { stepStill(); return; }
  if (widening) { stopWidening(); return; }
  $("widen").textContent = "Stop here";
  const began = performance.now();
  const frame = (now) => {
    const along = (now - began) / 12_000;
    if (along >= 1 || !last) { stopWidening(); return; }
    if (!underWay) diameter((last.best_mm / 2) * 4 ** along);
    widening = requestAnimationFrame(frame);
  };
  widening = requestAnimationFrame(frame);
}

function stopWidening() {
  cancelAnimationFrame(widening);
  widening = 0;
  $("widen").textContent = "Widen slowly";
}

function stepStill() {
  if (!last) return;
  diameter((last.best_mm / 2) * 4 ** ((stepped % 9) / 8));
  stepped++;
}
$("widen").addEventListener("click", widen);

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") { stopWidening(); fill(false); }
  if (event.ctrlKey || event.metaKey || event.altKey || isTyping(event)) return;
  const keys = { d: () => $("handle")?.focus(), b: () => $("beside").click(), f: () => $("fill").click() };
  const act = keys[event.key.toLowerCase()];
  if (act) { event.preventDefault(); act(); }
  if (event.key === " " && event.target === document.body) { event.preventDefault(); widen(); }
});

// What can be taken along.
async function figure(as) {
  const data = new FormData(form);
  data.set("as", as);
  if (shown.faint) data.set("faint", "yes");
  if (matchMedia("(prefers-color-scheme: dark)").matches) data.set("ground", "dark");
  const answer = await send("/what-if/figure", data);
  if (!answer.ok) { tell(await faultOf(answer)); throw new Error("no figure"); }
  return answer.blob();
}
$("svg").addEventListener("click", async () => save("what-if.svg", await figure("svg")));
$("png").addEventListener("click", async () => save("what-if.png", await figure("png")));
$("copy").addEventListener("click", (event) => copied(event.target, () =>
  navigator.clipboard.write([new ClipboardItem({ "image/png": figure("png") })])));
$("command").addEventListener("click", (event) => copied(event.target, () => navigator.clipboard.writeText(command())));

/** The command that computes the same; a shape that has no words goes along as its outline. */
function command() {
  const round = ["oval", "depth"].every((name) => parseFloat(field(name).value) === 0);
  if (round) return `foramen preview --camera camera.toml --hole "${last.diameter_mm.toPrecision(4)} mm" --compare`;
  const rows = last.outline.map((loop) => loop.map(([x, y]) => `${x.toFixed(6)},${y.toFixed(6)}`).join("\n")).join("\n\n");
  save("hole.csv", new Blob([`x_mm,y_mm\n${rows}\n`], { type: "text/csv" }));
  return "foramen preview --camera camera.toml --hole hole.csv --compare";
}
$("reset").addEventListener("click", start);
start();
