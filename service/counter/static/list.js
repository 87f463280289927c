// The page at the counter: reads the list as one types, and lets buttons work without a new page.
import { number } from "./gutter.js";
import { send, settled, swap } from "./swap.js";
import { offerKnown, recall, remember } from "./remember.js";

document.documentElement.classList.add("js");
const form = /** @type {HTMLFormElement} */ (document.getElementById("counter"));
const text = /** @type {HTMLTextAreaElement} */ (document.getElementById("text"));
const said = /** @type {HTMLElement} */ (document.getElementById("said"));
const renumber = number(text);
const TOO_MUCH = 400_000;
let running = new AbortController();

/** Show a sentence about how the reading went, if it is a new one. @param {string} words */
function say(words) {
  if (said.textContent !== words) said.textContent = words;
}

/** Whether a line beside the list is being put right and must not be taken away. */
function mending() {
  const field = document.activeElement;
  return field instanceof HTMLInputElement && field.matches(".fix") && field.value !== field.defaultValue;
}

/** Have the list read and show the reading. */
async function read() {
  running.abort();
  running = new AbortController();
  if (text.value.length > TOO_MUCH) return say("This is too much text for one list. Paste a part of it.");
  try {
    const answer = await send(form, { do: "read", part: "reading" }, running.signal);
    const fresh = answer.getElementById("reading");
    if (!fresh) return say(answer.querySelector("main p")?.textContent ?? "The list could not be read.");
    if (mending()) return;
    swap(answer, ["reading"]);
    say(fresh.dataset.said ?? "");
  } catch (error) {
    if (!(error instanceof DOMException)) say("The server does not answer; the list will be read when it does.");
  }
}
const readSoon = settled(read, 250);

/** Press a button of the form without leaving the page. @param {HTMLButtonElement} button */
async function press(button) {
  running.abort();
  const answer = await send(form, { do: button.value });
  const fresh = /** @type {HTMLTextAreaElement | null} */ (answer.getElementById("text"));
  if (fresh && fresh.value !== text.value) text.value = fresh.value;
  renumber();
  swap(answer, ["reading", "stock", "on-hand"]);
  say(answer.getElementById("said")?.textContent ?? "");
  if (button.dataset.focus) document.getElementById(button.dataset.focus)?.focus();
  offerKnown();
}

/** Put a mended line into the list. @param {HTMLInputElement} field */
function mend(field) {
  const lines = text.value.split("\n");
  lines[Number(field.dataset.line) - 1] = field.value;
  text.value = lines.join("\n");
  field.defaultValue = field.value;
  read().then(() => {
    const next = document.querySelector(".fix");
    if (document.activeElement === document.body && next instanceof HTMLInputElement) next.focus();
  });
}

form.addEventListener("input", (event) => {
  const field = event.target;
  if (field instanceof HTMLInputElement && field.matches(".fix, .title-block input")) return;
  readSoon();
});
form.addEventListener("change", async (event) => {
  const field = event.target;
  if (!(field instanceof HTMLElement)) return;
  if (field.matches(".fix")) mend(/** @type {HTMLInputElement} */ (field));
  if (field.matches("[name$=-category], #units")) swap(await send(form, { do: "read" }), ["stock"]);
  if (field.matches("[name$=-name]")) {
    const known = recall(form, /** @type {HTMLInputElement} */ (field));
    swap(await send(known ?? form, { do: "read" }), ["stock", "on-hand", "reading"]);
    offerKnown();
  }
});
form.addEventListener("submit", (event) => {
  const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
  if (button?.value === "plan") {
    remember(form);
    return;
  }
  event.preventDefault();
  const field = document.activeElement;
  if (button?.classList.contains("first")) {
    if (field instanceof HTMLInputElement && field.matches(".fix")) mend(field);
    else read();
  } else if (button) press(button);
});
text.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) document.getElementById("plan")?.click();
});
document.getElementById("faults")?.focus();
offerKnown();
if (text.value) read();
