// Numbers to pixels: the map of a point, the hole, the curves, the pictures.

/** INFERNO at nine places (matplotlib's table, CC0), joined by straight lines. */
const HEAT = [[0, 0, 4], [27, 12, 66], [75, 12, 107], [120, 28, 109], [165, 44, 96], [207, 68, 70], [237, 105, 37], [251, 155, 6], [252, 255, 164]];
const DECADES = 4;

export function unpack(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const samples = head.samples ** 2;
  const [w, h] = head.part_px;
  let from = 4 + length;
  const maps = [0, 1].map(() => { const map = new Float32Array(buffer, from, samples); from += 4 * samples; return map; });
  const pictures = [0, 1].map(() => { const one = new Uint8Array(buffer, from, 3 * w * h); from += 3 * w * h; return one; });
  return { ...head, maps, pictures };
}

function heat(share) {
  const along = Math.min(Math.max(share, 0), 1) * (HEAT.length - 1);
  const i = Math.min(Math.floor(along), HEAT.length - 2);
  return HEAT[i].map((low, c) => low + (HEAT[i + 1][c] - low) * (along - i));
}
const TABLE = Array.from({ length: 1024 }, (_, i) => heat(i / 1023));

const peak = (map) => map.reduce((most, value) => Math.max(most, value), 0);

/** The map of a point: the left half this hole, the right half the best, or this hole alone. */
export function point(canvas, { maps, samples }, { beside, faint, own }) {
  const tops = maps.map(peak);
  const common = beside ? Math.max(...tops) : tops[0];
  const pixels = new ImageData(samples, samples);
  for (let row = 0; row < samples; row++) {
    for (let column = 0; column < samples; column++) {
      const which = beside && column > samples / 2 ? 1 : 0;
      const share = maps[which][(samples - 1 - row) * samples + column] / (own ? tops[which] : common);
      const bright = faint ? 1 + Math.log10(share) / DECADES : share;
      const [r, g, b] = TABLE[Math.round(1023 * Math.min(Math.max(bright, 0), 1)) || 0];
      pixels.data.set([r, g, b, 255], 4 * (row * samples + column));
    }
  }
  show(canvas, pixels, samples, samples);
}

/** The same piece twice, or this hole's alone. */
export function picture(canvas, { pictures, part_px: [w, h] }, { beside }) {
  const pixels = new ImageData(w, h);
  // Beside each other each half is the middle of the piece.
  const shift = beside ? Math.floor(w / 4) : 0;
  for (let row = 0; row < h; row++) {
    for (let column = 0; column < w; column++) {
      const which = beside && column >= w / 2 ? 1 : 0;
      const from = which ? column - Math.floor(w / 2) + shift : column + shift;
      const at = 3 * (row * w + from);
      const to = 4 * (row * w + column);
      pixels.data[to] = pictures[which][at];
      pixels.data[to + 1] = pictures[which][at + 1];
      pixels.data[to + 2] = pictures[which][at + 2];
      pixels.data[to + 3] = 255;
    }
  }
  show(canvas, pixels, w, h);
}

function show(canvas, pixels, w, h) {
  if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
  canvas.getContext("2d").putImageData(pixels, 0, 0);
}

const path = (points) => points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(4)} ${(-y).toFixed(4)}`).join("") + "Z";

/** The hole in its metal with the best circle about it. */
export function hole(place, { outline, diameter_mm: d, best_mm: best }, { beside }) {
  const half = 0.68 * Math.max(d, best);
  place.innerHTML = `<svg role="img" aria-label="The hole, ${d.toFixed(3)} mm, and the best circle, ${best.toFixed(3)} mm." viewBox="${-1.25 * half} ${-half} ${2.5 * half} ${2 * half}" preserveAspectRatio="xMidYMid slice"><rect class="metal" x="${-3 * half}" y="${-3 * half}" width="${6 * half}" height="${6 * half}"/><path class="light" d="${outline.map(path).join("")}"/>${beside ? `<circle class="ideal under" r="${best / 2}"/><circle class="ideal" r="${best / 2}"/>` : ""}</svg>`;
}

/** Contrast against frequency: letters are HTML over the curves, so that they keep their size. */
export function contrast(place, { mtf, frame }, { beside }) {
  const finest = frame.finest_lp_per_mm;
  const curve = (values, name) => `<polyline class="curve ${name}" points="${values.map((v, i) => `${(100 * i) / (values.length - 1)},${100 - 100 * v}`).join(" ")}"/>`;
  const [from, to] = frame.seen_lp_per_mm.map((f) => Math.min((100 * f) / finest, 100));
  const step = [0.5, 1, 2, 5, 10, 20].find((s) => finest / s < 5) ?? 50;
  const marks = [];
  for (let f = 0; f < finest * 0.96; f += step) marks.push(`<span class="mark" data-x="${8 + (88 * f) / finest}" data-y="88">${f}</span>`);
  place.innerHTML = `<svg class="chart" role="img" aria-label="Contrast of lines from coarse to fine: solid this hole, dashed the best." viewBox="-9 -8 114 128" preserveAspectRatio="none"><rect class="seen" x="${from}" y="0" width="${Math.max(to - from, 0)}" height="100" fill="currentColor" opacity="0.06"/><path class="axis" d="M0 0V100H100M0 50H100M0 0H100"/>${beside ? curve(mtf[1], "best") : ""}${curve(mtf[0], "own")}</svg>${marks.join("")}<span class="mark" data-x="1" data-y="3">1</span><span class="mark" data-x="1" data-y="42">½</span><span class="mark" data-x="46" data-y="9">seen best in the print</span>`;
  for (const mark of place.querySelectorAll(".mark")) { mark.style.left = `${mark.dataset.x}%`; mark.style.top = `${mark.dataset.y}%`; }
}

/** Where a diameter is on the rule, in per cent. */
export const onRule = (rule, mm) => (100 * Math.log(mm / rule.dataset.low)) / Math.log(rule.dataset.high / rule.dataset.low);

/** Moves the line of this hole. */
export function moveRule(rule, mm) {
  const x = Math.min(Math.max(onRule(rule, mm), 0), 100);
  const left = mm < Number(rule.dataset.best);
  for (const line of rule.querySelectorAll("line.this")) { line.setAttribute("x1", `${x}%`); line.setAttribute("x2", `${x}%`); }
  const label = rule.querySelector("text.this");
  if (!label) return;
  label.setAttribute("x", `${x}%`);
  label.innerHTML = `<tspan>this hole</tspan> ${mm.toPrecision(3)}`;
  const needed = (100 * (label.getComputedTextLength() + 8)) / rule.clientWidth;
  const before = (left && x > needed) || x + needed > 100;
  label.setAttribute("dx", before ? -8 : 8);
  label.setAttribute("text-anchor", before ? "end" : "start");
}

export function moveSteps(place, jnd) {
  const x = `${100 * Math.sqrt(Math.min(jnd, 14) / 14)}%`;
  for (const line of place.querySelectorAll("line.this")) { line.setAttribute("x1", x); line.setAttribute("x2", x); }
}
