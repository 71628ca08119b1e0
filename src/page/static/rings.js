// Two rings on a photo, joined: on a rule they tell the scale, across a hole its diameter. A magnifier stands
// beside the ring that is held.

const GLASS = 120;
const TIMES = 6;

export class Rings {
  /** `names`: what each ring is called; `ends`: where they are, in pixels of the photo; `moved` hears of it. */
  constructor(stage, picture, size, { names, ends, circle = false, moved }) {
    Object.assign(this, { stage, picture, size, ends, moved });
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    this.line = document.createElementNS("http://www.w3.org/2000/svg", "line");
    this.line.setAttribute("class", "line");
    svg.setAttribute("aria-hidden", "true");
    svg.append(this.line);
    if (circle) {
      // The circle is drawn in pixels of the photo.
      svg.setAttribute("viewBox", `0 0 ${size[0]} ${size[1]}`);
      this.circle = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      this.circle.setAttribute("class", "rim");
      this.circle.setAttribute("vector-effect", "non-scaling-stroke");
      svg.append(this.circle);
    }
    this.glass = Object.assign(document.createElement("canvas"), { className: "glass", width: GLASS, height: GLASS, hidden: true });
    this.ring = names.map((name, i) => this.made(name, i));
    this.parts = [svg, ...this.ring, this.glass];
    stage.append(...this.parts);
    this.draw();
  }

  remove() { for (const part of this.parts) part.remove(); }

  /** Their distance, in pixels of the photo. */
  get px() {
    const [a, b] = this.ends;
    return Math.hypot(a[0] - b[0], a[1] - b[1]);
  }

  made(name, i) {
    const ring = Object.assign(document.createElement("button"), { type: "button", className: "ring" });
    ring.setAttribute("aria-label", `${name}; arrows move it by a pixel, with Shift by ten`);
    ring.onpointerdown = (event) => { ring.setPointerCapture(event.pointerId); ring.focus(); this.held = true; };
    ring.onpointermove = (event) => { if (this.held && ring.hasPointerCapture(event.pointerId)) this.drag(i, event); };
    ring.onpointerup = () => { this.held = false; };
    ring.onfocus = () => this.magnify(i);
    ring.onblur = () => { this.glass.hidden = true; };
    ring.onkeydown = (event) => this.step(i, event);
    return ring;
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
    this.draw();
    this.magnify(i);
    this.moved();
  }

  draw() {
    const share = ([x, y]) => [`${(100 * x) / this.size[0]}%`, `${(100 * y) / this.size[1]}%`];
    this.ring.forEach((ring, i) => { [ring.style.left, ring.style.top] = share(this.ends[i]); });
    const [[x1, y1], [x2, y2]] = this.circle ? this.ends : this.ends.map(share);
    for (const [name, value] of Object.entries({ x1, y1, x2, y2 })) this.line.setAttribute(name, value);
    if (!this.circle) return;
    for (const [name, value] of Object.entries({ cx: (x1 + x2) / 2, cy: (y1 + y2) / 2, r: this.px / 2 })) this.circle.setAttribute(name, value);
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
}
