// The photo: which hole, and how large is a millimetre. Two rings on a rule, a magnifier under the finger.

import { say, send, faultOf } from "./page.js";

const GLASS = 120;
const TIMES = 6;

function element(name, properties = {}, ...inside) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...inside);
  return made;
}

export class Photo {
  /** `looked`: the photo's size, its holes and its own scale, as the server saw them; null for a second look. */
  constructor(place, file, looked, why, appraise) {
    Object.assign(this, { place, file, looked: looked ?? { candidates: [], scale: null }, appraise });
    this.chosen = this.looked.candidates.length === 1 ? 0 : -1;
    this.build(why);
  }

  close() { this.section?.remove(); }

  async build(why) {
    let picture;
    try { picture = await createImageBitmap(this.file); }
    catch {
      this.place.replaceChildren(element("p", { className: "fault", textContent: `${why} This browser cannot show the file; save it as PNG or JPEG to point at it.` }));
      return;
    }
    this.picture = picture;
    this.size = this.looked.size_px ?? [picture.width, picture.height];
    const { candidates, scale } = this.looked;
    const title = candidates.length > 1 ? "Which hole, and how large is a millimetre?"
      : candidates.length === 1 ? "How large is a millimetre?" : "Where is the hole?";
    const heading = element("h1", { className: "question", textContent: title, tabIndex: -1 });
    const canvas = element("canvas", { width: picture.width, height: picture.height });
    canvas.getContext("2d").drawImage(picture, 0, 0);
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "Your photo");
    this.stage = element("div", { className: "stage" }, canvas);
    this.stage.setAttribute("role", "group");
    this.stage.setAttribute("aria-label", "The photo with what was found in it");
    this.spots();
    this.rings();
    const button = element("button", { type: "button", className: "press", textContent: "Appraise" });
    button.onclick = () => this.done();
    this.button = button;
    this.said = element("p", { className: "fault" });
    this.said.setAttribute("role", "alert");
    const aside = element("div", { className: "aside" },
      element("p", { className: "quiet", textContent: candidates.length ? why : `${why} Press on the hole in the photo.` }),
      this.scaleFields(scale), this.said, button);
    this.section = element("section", { className: "photo" }, element("div", {}, heading, element("br"), this.stage), aside);
    this.place.replaceChildren(this.section);
    heading.focus();
    say(title);
    this.name();
  }

  /** Where a pixel of the photo is on the stage, in per cent. */
  at([x, y]) { return [`${(100 * x) / this.size[0]}%`, `${(100 * y) / this.size[1]}%`]; }

  put(one, place) { [one.style.left, one.style.top] = this.at(place); }

  spots() {
    this.spot = this.looked.candidates.map(({ place_px: place }, i) => {
      const spot = element("button", { type: "button", className: "spot", textContent: i + 1 });
      spot.setAttribute("role", "radio");
      spot.setAttribute("aria-label", `Hole ${i + 1}`);
      spot.onclick = () => { this.chosen = i; this.name(); };
      this.put(spot, place);
      this.stage.append(spot);
      return spot;
    });
    this.stage.addEventListener("click", (event) => {
      if (event.target.tagName !== "CANVAS") return;
      const box = this.stage.getBoundingClientRect();
      const place = [((event.clientX - box.left) / box.width) * this.size[0], ((event.clientY - box.top) / box.height) * this.size[1]];
      if (!this.looked.candidates.length) this.own = place;
      this.name();
    });
    document.addEventListener("keydown", (event) => {
      const number = Number(event.key);
      if (!this.stage.isConnected || event.target.closest("input") || !(number >= 1 && number <= this.spot.length)) return;
      this.spot[number - 1].click();
      this.spot[number - 1].focus();
    });
  }

  name() {
    this.spot.forEach((spot, i) => spot.setAttribute("aria-checked", i === this.chosen));
    if (this.button) this.button.textContent = this.spot.length > 1 && this.chosen >= 0 ? `Appraise hole ${this.chosen + 1}` : "Appraise";
  }

  rings() {
    const [w, h] = this.size;
    this.ends = [[0.25 * w, 0.9 * h], [0.75 * w, 0.9 * h]];
    const line = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    this.line = document.createElementNS("http://www.w3.org/2000/svg", "line");
    this.line.setAttribute("class", "line");
    line.setAttribute("aria-hidden", "true");
    line.append(this.line);
    this.stage.append(line);
    this.glass = element("canvas", { className: "glass", width: GLASS, height: GLASS, hidden: true });
    this.ring = this.ends.map((_, i) => {
      const ring = element("button", { type: "button", className: "ring" });
      ring.setAttribute("aria-label", `Ring ${i + 1} on the rule; arrows move it by a pixel, with Shift by ten`);
      ring.onpointerdown = (event) => { ring.setPointerCapture(event.pointerId); ring.focus(); this.moving = true; };
      ring.onpointermove = (event) => { if (this.moving && ring.hasPointerCapture(event.pointerId)) this.drag(i, event); };
      ring.onpointerup = () => { this.moving = false; };
      ring.onfocus = () => this.magnify(i);
      ring.onblur = () => { this.glass.hidden = true; };
      ring.onkeydown = (event) => this.step(i, event);
      this.stage.append(ring);
      return ring;
    });
    this.stage.append(this.glass);
    this.measure();
  }

  drag(i, event) {
    const box = this.stage.getBoundingClientRect();
    this.move(i, [((event.clientX - box.left) / box.width) * this.size[0], ((event.clientY - box.top) / box.height) * this.size[1]]);
  }

  step(i, event) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!way) return;
    event.preventDefault();
    const far = event.shiftKey ? 10 : 1;
    this.move(i, [this.ends[i][0] + far * way[0], this.ends[i][1] + far * way[1]]);
  }

  move(i, [x, y]) {
    this.ends[i] = [Math.min(Math.max(x, 0), this.size[0]), Math.min(Math.max(y, 0), this.size[1])];
    this.touched = true;
    this.measure();
    this.magnify(i);
  }

  measure() {
    this.ring.forEach((ring, i) => this.put(ring, this.ends[i]));
    const [[x1, y1], [x2, y2]] = this.ends.map((end) => this.at(end));
    for (const [name, value] of Object.entries({ x1, y1, x2, y2 })) this.line.setAttribute(name, value);
    const [a, b] = this.ends;
    this.px = Math.hypot(a[0] - b[0], a[1] - b[1]);
    if (this.apart) {
      // A ring is placed to about half a pixel at each end.
      const doubt = (100 * 0.7) / Math.max(this.px, 1);
      this.sum.textContent = `${this.px.toFixed(1)} px = ${this.apart.value || "?"} mm, ± ${doubt.toPrecision(1)} %`;
    }
  }

  magnify(i) {
    const [x, y] = this.ends[i];
    const [left, top] = [(x / this.size[0]) * this.stage.clientWidth, (y / this.size[1]) * this.stage.clientHeight];
    const above = top - 96 - GLASS / 2 > 0;
    this.glass.hidden = false;
    this.glass.style.left = `${Math.min(Math.max(left - GLASS / 2, 0), this.stage.clientWidth - GLASS)}px`;
    this.glass.style.top = `${above ? top - 96 - GLASS / 2 : top + 96 - GLASS / 2}px`;
    const pen = this.glass.getContext("2d");
    const scale = this.picture.width / this.size[0];
    const seen = GLASS / TIMES;
    pen.imageSmoothingEnabled = false;
    pen.fillRect(0, 0, GLASS, GLASS);
    pen.drawImage(this.picture, x * scale - seen / 2, y * scale - seen / 2, seen, seen, 0, 0, GLASS, GLASS);
    pen.strokeStyle = "#fff";
    pen.beginPath();
    pen.moveTo(GLASS / 2, 0); pen.lineTo(GLASS / 2, GLASS); pen.moveTo(0, GLASS / 2); pen.lineTo(GLASS, GLASS / 2);
    pen.stroke();
  }

  scaleFields(scale) {
    const field = (name, words, unit) => {
      const input = element("input", { name, size: 6 });
      input.inputMode = "decimal";
      const label = element("label", {}, `${words} `, input, ` ${unit}`);
      return [input, element("p", {}, label)];
    };
    const [apart, apartLine] = field("apart", "The rings are", "mm apart");
    const [dpi, dpiLine] = field("dpi", "It is a scan:", "dpi");
    const [spacing, spacingLine] = field("spacing", "Lines of a rule are", "mm apart");
    apart.value = "1";
    Object.assign(this, { apart, dpi, spacing });
    apart.oninput = () => { this.touched = true; this.measure(); };
    this.sum = element("p", { className: "quiet" });
    const find = element("button", { type: "button", textContent: "Find the lines for me" });
    find.onclick = () => this.find();
    spacingLine.append(" ", find);
    const own = element("p", { className: "notice", textContent: scale ? `The file says ${(1 / scale.mm_per_px).toFixed(1)} px = 1 mm. It is used unless you say otherwise.` : "" });
    own.hidden = !scale;
    const box = element("div", {}, own, apartLine, this.sum, dpiLine, spacingLine);
    this.measure();
    return box;
  }

  async find() {
    const form = new FormData();
    form.set("photo", this.file);
    form.set("spacing", this.spacing.value || "1");
    this.said.textContent = "";
    const answer = await send("/photo", form);
    if (!answer.ok) { this.said.textContent = (await faultOf(answer)).words; return; }
    const { scale } = await answer.json();
    this.sum.textContent = `Lines found: ${(1 / scale.mm_per_px).toFixed(2)} px = 1 mm.`;
    this.byLines = true;
    say(this.sum.textContent);
  }

  done() {
    const place = this.own ?? this.looked.candidates[this.chosen]?.place_px;
    if (!place) { this.said.textContent = "Choose a hole first: press its number, or on the hole."; return; }
    const pointed = { x: place[0].toFixed(1), y: place[1].toFixed(1) };
    if (this.dpi.value) pointed.dpi = this.dpi.value;
    else if (this.byLines) pointed.spacing = this.spacing.value || "1";
    else if (this.touched || !this.looked.scale) Object.assign(pointed, { px: this.px.toFixed(2), apart: this.apart.value });
    this.appraise(pointed);
  }
}
