// The photo: which hole, and how large is a millimetre. What cannot be traced can be circled.

import { faultOf, memory, say, send } from "./page.js";
import { Rings } from "./rings.js";

function element(name, properties = {}, ...inside) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...inside);
  return made;
}

export class Photo {
  /** `looked`: the photo's size, its holes and its own scale, as the server saw them; null for a second look. */
  constructor(place, file, looked, why, appraise) {
    Object.assign(this, { place, file, looked: looked ?? { candidates: [], scale: null }, appraise });
    this.holes = this.looked.candidates.map(({ place_px: at }) => at);
    this.chosen = this.holes.length === 1 ? 0 : -1;
    this.build(why);
  }

  close() {
    this.section?.remove();
    document.removeEventListener("keydown", this.keys);
  }

  async build(why) {
    let picture;
    try { picture = await createImageBitmap(this.file); }
    catch {
      this.place.replaceChildren(element("p", { className: "fault", textContent: `${why} This browser cannot show the file; save it as PNG or JPEG to point at it.` }));
      return;
    }
    this.picture = picture;
    this.size = this.looked.size_px ?? [picture.width, picture.height];
    const many = this.holes.length;
    const title = many > 1 ? "Which hole, and how large is a millimetre?" : many === 1 ? "How large is a millimetre?" : "Where is the hole?";
    const heading = element("h1", { className: "question", textContent: title, tabIndex: -1 });
    const canvas = element("canvas", { width: picture.width, height: picture.height });
    canvas.getContext("2d").drawImage(picture, 0, 0);
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "Your photo");
    this.stage = element("div", { className: "stage" }, canvas);
    this.stage.setAttribute("role", "group");
    this.stage.setAttribute("aria-label", "The photo with what was found in it");
    this.stage.addEventListener("click", (event) => this.press(event));
    this.keys = (event) => this.typed(event);
    document.addEventListener("keydown", this.keys);
    this.spots();
    const [w, h] = this.size;
    this.rule = new Rings(this.stage, picture, this.size, {
      names: ["Ring 1 on the rule", "Ring 2 on the rule"], ends: [[0.25 * w, 0.9 * h], [0.75 * w, 0.9 * h]],
      moved: () => { this.touched = true; this.measured(); },
    });
    this.aside(why);
    this.found = element("div");
    this.section = element("section", { className: "photo" }, element("div", {}, heading, element("br"), this.stage), this.side, this.found);
    this.place.replaceChildren(this.section);
    heading.focus();
    say(title);
    this.name();
  }

  aside(why) {
    const button = (textContent, onclick, className = "") => element("button", { type: "button", className, textContent, onclick });
    this.button = button("Appraise", () => this.done(), "press");
    this.all = button("", () => this.every());
    this.own = button("Circle it myself", () => this.circled());
    this.said = element("p", { className: "fault" });
    this.said.setAttribute("role", "alert");
    this.side = element("div", { className: "aside" },
      element("p", { className: "quiet", textContent: this.holes.length ? why : `${why} Press on the hole in the photo, or circle it.` }),
      this.scaleFields(this.looked.scale), this.said, element("p", { className: "row" }, this.button, this.all, this.own));
  }

  /** A white disc on each hole, with its number. */
  spots() {
    for (const spot of this.spot ?? []) spot.remove();
    this.spot = this.holes.map(([x, y], i) => {
      const spot = element("button", { type: "button", className: "spot", textContent: i + 1, onclick: () => { this.chosen = i; this.name(); } });
      spot.setAttribute("role", "radio");
      spot.setAttribute("aria-label", `Hole ${i + 1}`);
      [spot.style.left, spot.style.top] = [`${(100 * x) / this.size[0]}%`, `${(100 * y) / this.size[1]}%`];
      this.stage.append(spot);
      return spot;
    });
  }

  press(event) {
    if (event.target.tagName !== "CANVAS" || this.circle || (this.holes.length && !this.pressed)) return;
    this.pressed = true;
    const box = this.stage.getBoundingClientRect();
    this.holes = [[((event.clientX - box.left) / box.width) * this.size[0], ((event.clientY - box.top) / box.height) * this.size[1]]];
    this.spots();
    this.chosen = 0;
    this.name();
  }

  /** 1 to 9 choose a hole; a second digit is waited for. */
  typed(event) {
    if (!this.stage.isConnected || event.target.closest("input") || !/^[0-9]$/.test(event.key)) return;
    const before = performance.now() - (this.typedAt ?? -Infinity) < 800 ? this.digits : "";
    [this.digits, this.typedAt] = [before + event.key, performance.now()];
    const spot = this.spot[Number(this.digits) - 1];
    spot?.click();
    spot?.focus();
  }

  name() {
    this.spot.forEach((spot, i) => spot.setAttribute("aria-checked", i === this.chosen));
    const many = this.spot.length;
    this.button.textContent = many > 1 && this.chosen >= 0 ? `Appraise hole ${this.chosen + 1}` : "Appraise";
    this.all.hidden = many < 2;
    this.all.textContent = `Appraise all ${many}`;
  }

  /** Two rings on opposite sides of the hole, for one that cannot be traced. */
  circled() {
    if (this.circle) return;
    const [w, h] = this.size;
    const r = Math.min(w, h) / 8;
    this.circle = new Rings(this.stage, this.picture, this.size, {
      names: ["Ring on the left of the hole", "Ring on the right of the hole"], ends: [[w / 2 - r, h / 2], [w / 2 + r, h / 2]],
      circle: true, moved: () => this.measured(),
    });
    this.spot.forEach((spot) => { spot.hidden = true; });
    this.own.disabled = true;
    this.all.hidden = true;
    this.button.textContent = "Appraise the circle";
    this.circle.ring[0].focus();
    this.measured();
    say("Put the two rings on opposite sides of the hole.");
  }

  scaleFields(scale) {
    const field = (name, words, unit) => {
      const input = element("input", { name, size: 6, type: "text", inputMode: "decimal" });
      return [input, element("p", {}, element("label", {}, `${words} `, input, ` ${unit}`))];
    };
    const [apart, apartLine] = field("apart", "The rings are", "mm apart");
    const [dpi, dpiLine] = field("dpi", "It is a scan:", "dpi");
    const [spacing, spacingLine] = field("spacing", "Lines of a rule are", "mm apart");
    apart.value = "1";
    Object.assign(this, { apart, dpi, spacing });
    apart.oninput = () => { this.touched = true; this.measured(); };
    dpi.oninput = () => this.measured();
    this.sum = element("p", { className: "quiet" });
    spacingLine.append(" ", element("button", { type: "button", textContent: "Find the lines for me", onclick: () => this.find() }));
    const own = element("p", { className: "notice", textContent: scale ? `The file says ${(1 / scale.mm_per_px).toFixed(1)} px = 1 mm. It is used unless you say otherwise.` : "" });
    own.hidden = !scale;
    const box = element("div", {}, own, apartLine, this.sum, dpiLine, spacingLine);
    this.measured();
    return box;
  }

  measured() {
    // A ring is placed to about half a pixel at each end.
    const doubt = (100 * 0.7) / Math.max(this.rule.px, 1);
    this.sum.textContent = `${this.rule.px.toFixed(1)} px = ${this.apart.value || "?"} mm, ± ${doubt.toPrecision(1)} %`;
    const size = this.circle && this.circledSize();
    if (size) this.sum.textContent += `. The circle: ${size}`;
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
    this.byLines = scale.mm_per_px;
    say(this.sum.textContent);
  }

  /** The scale that was pointed at or typed, as the form says it. */
  scale() {
    if (this.dpi.value) return { dpi: this.dpi.value };
    if (this.byLines) return { spacing: this.spacing.value || "1" };
    if (this.touched || !this.looked.scale) return { px: this.rule.px.toFixed(2), apart: this.apart.value };
    return {};
  }

  /** Millimetres to a pixel, and how far off that may be as a share. */
  mmPerPx() {
    if (this.dpi.value) return [25.4 / Number.parseFloat(this.dpi.value), 0.005];
    if (this.byLines) return [this.byLines, 0.005];
    if (this.touched || !this.looked.scale) return [Number.parseFloat(this.apart.value) / this.rule.px, 1 / this.rule.px];
    return [this.looked.scale.mm_per_px, 0.005];
  }

  /** The circle's diameter as one says it. Hand and eye put a ring within about a pixel of a soft rim, or a fiftieth. */
  circledSize() {
    const [scale, share] = this.mmPerPx();
    const mm = this.circle.px * scale;
    if (!(mm > 0 && Number.isFinite(mm))) return "";
    const doubt = Math.hypot(Math.max(1.5 * scale, 0.02 * mm), share * mm);
    return `${mm.toPrecision(3)} ± ${doubt.toPrecision(1)} mm`;
  }

  async every() {
    const form = new FormData();
    form.set("photo", this.file);
    form.set("camera", memory.get("camera"));
    for (const [name, value] of Object.entries(this.scale())) form.set(name, value);
    this.said.textContent = "";
    this.all.disabled = true;
    say(`Measuring ${this.spot.length} holes`);
    const answer = await send("/every", form, { headers: { accept: "application/json" } });
    this.all.disabled = false;
    if (!answer.ok) { this.said.textContent = (await faultOf(answer)).words; return; }
    const { html, spoken, places_px: places } = await answer.json();
    this.holes = places;
    this.chosen = -1;
    this.spots();
    this.name();
    this.found.className = "wide-row";
    this.found.innerHTML = html;
    for (const one of this.found.querySelectorAll("[data-hole]")) {
      one.onclick = () => { this.chosen = Number(one.dataset.hole) - 1; this.name(); this.done(); };
    }
    this.found.querySelector("h2").focus();
    say(spoken);
  }

  done() {
    if (this.circle) {
      const size = this.circledSize();
      if (!size) { this.said.textContent = "Say how far the rings on the rule are apart, in mm."; return; }
      this.appraise({ size, photo: null });
      return;
    }
    const place = this.holes[this.chosen];
    if (!place) { this.said.textContent = "Choose a hole first: press its number, or on the hole."; return; }
    this.appraise({ x: place[0].toFixed(1), y: place[1].toFixed(1), ...this.scale() });
  }
}
