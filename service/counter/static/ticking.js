// The list to tick. A tick is shown and kept on the phone at once, and told to the plan as soon as there is a connection.

const page = /** @type {HTMLElement} */ (document.getElementById("ticking"));
const said = /** @type {HTMLElement} */ (document.getElementById("said"));
const plan = String(page.dataset.plan);
const KEPT = `lapstock-ticks-${plan}`;
const AGAIN = 8000;
const MOST = 500;

/** @typedef {{piece: string, before: string, state: string}} Tick */
/** @type {Tick[]} what the plan has not been told yet, in the order of ticking */
let waiting = JSON.parse(localStorage.getItem(KEPT) ?? "[]");
let telling = false;

/** @param {string} piece @returns {NodeListOf<HTMLElement>} */
const rowsOf = (piece) => page.querySelectorAll(`[data-piece="${CSS.escape(piece)}"]`);
/** @param {string} piece */
const stateOf = (piece) => String(rowsOf(piece)[0]?.dataset.state);

/** @param {string} piece @param {string} state */
function show(piece, state) {
  for (const row of rowsOf(piece)) {
    const part = /** @type {HTMLElement} */ (row.closest(".part"));
    const done = state === "hung" || (state === "cut" && part.dataset.done === "cut");
    row.dataset.state = state;
    row.classList.toggle("done", done);
    row.querySelector(".tick")?.setAttribute("aria-pressed", String(done));
    const word = row.querySelector(".state");
    if (word) word.textContent = state === "to_cut" ? "" : state;
  }
}

function count() {
  for (const part of page.querySelectorAll(".part")) {
    const left = part.querySelectorAll("li:not(.done)").length;
    const words = part.querySelector(".left");
    // of a large plan the rest of the list is on other pages
    const where = part.querySelector(".pages") ? " on this page" : "";
    if (words) words.textContent = (left ? `${left} open` : "all done") + where;
  }
}

/** @param {string} words */
function say(words) {
  if (said.textContent !== words) said.textContent = words;
}

/** @param {string} piece @param {string} state */
function tick(piece, state) {
  waiting.push({ piece, before: stateOf(piece), state });
  localStorage.setItem(KEPT, JSON.stringify(waiting));
  show(piece, state);
  count();
  void tell();
}

/**
 * Show how far pieces are by now; what somebody else was first to tick is said, and stays said.
 * @param {{pieces: {piece: string, state: string, name: string}[]}} answer
 * @param {Map<string, string>} [wanted]
 */
function take(answer, wanted) {
  const unsaid = new Set(waiting.map((one) => one.piece));
  for (const now of answer.pieces) {
    if (wanted?.has(now.piece) && wanted.get(now.piece) !== now.state) {
      delete said.dataset.offline;
      say(`${now.name} was ticked ${now.state.replace("_", " ")} by somebody else meanwhile: look again.`);
    }
    if (!unsaid.has(now.piece)) show(now.piece, now.state);
  }
  count();
}

const waitingHere = () => `${waiting.length === 1 ? "1 tick waits" : `${waiting.length} ticks wait`} on this phone`;

/** Tell the plan what waits, then look what others ticked. */
async function tell() {
  if (telling) return;
  telling = true;
  try {
    while (waiting.length) {
      const sent = waiting.slice(0, MOST);
      const answer = await fetch(`/v1/cut-plans/${plan}/ticks`, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ ticks: sent }),
      });
      if (answer.status === 401) {
        said.dataset.offline = "yes";
        say(`Load this page again to sign in. ${waitingHere()}.`);
        return;
      }
      if (answer.status >= 500 || answer.status === 429) throw new Error(String(answer.status));
      waiting = waiting.slice(sent.length);
      localStorage.setItem(KEPT, JSON.stringify(waiting));
      if (!answer.ok) say("The plan does not know these pieces any more: load the list again.");
      else take(await answer.json(), new Map(sent.map((one) => [one.piece, one.state])));
    }
    await look();
    if (said.dataset.offline) {
      delete said.dataset.offline;
      say("Connected again: every tick is with the plan.");
    }
  } catch {
    said.dataset.offline = "yes";
    say(`No connection. Go on ticking: ${waitingHere()}.`);
  } finally {
    telling = false;
  }
}

/** Look how far the pieces on this page are: they are on these pages of the plan's. */
async function look() {
  for (const after of (page.dataset.looks ?? "").split(" ").filter(Boolean)) {
    const answer = await fetch(`/v1/cut-plans/${plan}/pieces?limit=${page.dataset.most}&after=${after}`);
    if (!answer.ok) return;
    take(await answer.json());
  }
}

page.addEventListener("click", (event) => {
  const button = /** @type {HTMLElement} */ (event.target).closest("button");
  const row = /** @type {HTMLElement | null} */ (button?.closest("[data-piece]") ?? null);
  if (button?.dataset.part) {
    for (const other of page.querySelectorAll(".parts button")) other.setAttribute("aria-pressed", String(other === button));
    for (const part of page.querySelectorAll(".part")) /** @type {HTMLElement} */ (part).hidden = part.id !== button.dataset.part;
  }
  if (!button || !row) return;
  const piece = String(row.dataset.piece);
  const done = String(/** @type {HTMLElement} */ (row.closest(".part")).dataset.done);
  const now = stateOf(piece);
  if (button.classList.contains("spoil")) tick(piece, now === "miscut" ? "to_cut" : "miscut");
  else if (done === "hung") tick(piece, now === "hung" ? "cut" : "hung");
  else if (now === "hung") say("It hangs already: take the tick back on the wall's list.");
  else tick(piece, now === "cut" ? "to_cut" : "cut");
});

const openOnly = /** @type {HTMLInputElement} */ (document.getElementById("open-only"));
openOnly.addEventListener("change", () => page.classList.toggle("open-only", openOnly.checked));
for (const row of page.querySelectorAll("[data-piece]")) {
  const { piece, state } = /** @type {HTMLElement} */ (row).dataset;
  show(String(piece), String(state));
}
for (const one of waiting) show(one.piece, one.state);
count();
addEventListener("online", () => void tell());
document.addEventListener("visibilitychange", () => document.hidden || void tell());
setInterval(() => document.hidden || void tell(), AGAIN);
void tell();
// only where the page came over https or from this machine does a browser keep it for when there is no connection
async function keep() {
  if (!("serviceWorker" in navigator)) return;
  await navigator.serviceWorker.register("/plans/ticking-worker.js");
  const made = [...document.querySelectorAll("link[href], script[src]")].map((one) => one.getAttribute("href") ?? one.getAttribute("src"));
  await (await caches.open("lapstock-ticking-1")).addAll([location.pathname + location.search, ...made.map(String)]);
  page.dataset.kept = "yes";
}
keep().catch(() => undefined);
