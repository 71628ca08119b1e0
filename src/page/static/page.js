// What every page does: the camera that the browser remembers, the keys, and words for who listens.

export const $ = (name) => document.getElementById(name);

/** Speaks to who does not see, once. */
export function say(words) {
  $("heard").textContent = words;
}

/** What the browser remembers of the camera and of the last hole; the server keeps nothing. */
export const memory = {
  get(name) { try { return localStorage.getItem(name) ?? ""; } catch { return ""; } },
  set(name, text) { try { localStorage.setItem(name, text); } catch { /* A browser may keep nothing. */ } },
};

export function rememberCamera(text, where) {
  memory.set("camera", text);
  memory.set("where", where);
  showCamera();
}

export function showCamera() {
  const where = memory.get("where");
  if (where) $("where").textContent = where;
  for (const field of document.querySelectorAll("input[type=hidden][name=camera]")) field.value = memory.get("camera");
}

/** Sends a form; tries once more, for a connection may just have ended. */
export async function send(address, form, options = {}) {
  for (let trial = 0; ; trial++) {
    try {
      const answer = await fetch(address, { method: "POST", body: form, ...options });
      gone(false);
      return answer;
    } catch (why) {
      if (why.name === "AbortError") throw why;
      if (trial === 1) { gone(true); throw why; }
      await new Promise((done) => setTimeout(done, 500));
    }
  }
}

/** What is wrong with an answer, as a sentence. */
export async function faultOf(answer) {
  const text = await answer.text();
  try {
    const fault = JSON.parse(text);
    return { words: `${fault.wrong} ${fault.remedy}`, field: fault.field };
  } catch {
    return { words: text || "The work could not be done. Start it again.", field: null };
  }
}

function gone(is) {
  let line = $("gone");
  if (!is) { line?.remove(); return; }
  if (line) return;
  line = document.createElement("p");
  line.id = "gone";
  line.className = "notice";
  line.setAttribute("role", "alert");
  line.textContent = "foramen has stopped. What you see stays; start it again to go on.";
  $("main").prepend(line);
}

export function save(name, blob) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** Copies text, and says so on the button. */
export async function copied(button, write) {
  const before = button.textContent;
  try { await write(); button.textContent = "Copied"; say("Copied"); }
  catch { button.textContent = "Could not copy"; }
  setTimeout(() => { button.textContent = before; }, 2000);
}

export const isTyping = (event) => event.target.closest?.("input:not([type=range]), select, textarea");

const jobs = { a: "/", w: "/what-if", c: "/camera", l: "/log" };
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || isTyping(event)) return;
  const address = jobs[event.key.toLowerCase()];
  if (address && memory.get("keys") !== "off") location.href = address;
});
showCamera();
for (const one of document.querySelectorAll(".noscript-only")) one.hidden = true;
