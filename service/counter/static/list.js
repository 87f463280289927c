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
let turn = Promise.resolve();

/** Show a sentence about how the reading went, if it is a new one. @param {string} words */
function say(words) {
  if (said.textContent !== words) said.textContent = words;
}

/** Whether a line beside the list is being put right and must not be taken away. */
function mending() {
  const field = document.activeElement;
  return field instanceof HTMLInputElement && field.matches(".fix") && field.value !== field.defaultValue;
}

/** Have the list read and show the reading, once no button is at work that changes the form. */
async function read() {
  await turn;
  running.abort();
  running = new AbortController();
  const { signal } = running;
  if (text.value.length > TOO_MUCH) return say("This is too much text for one list. Paste a part of it.");
  try {
    const answer = await send(form, { do: "read", part: "reading" }, signal);
    const fresh = answer.page.getElementById("reading");
    if (!fresh) return say(answer.page.querySelector("main p")?.textContent ?? "The list could not be read.");
    if (signal.aborted || mending()) return;
    await swap(answer, ["reading"]);
    say(fresh.dataset.said ?? "");
  } catch {
    if (!signal.aborted) say("The server does not answer; the list will be read when it does.");
  }
}
const readSoon = settled(read, 250);

/** Do one thing after the other, each with the form as the one before has left it. @param {() => Promise<void>} task */
function inTurn(task) {
  turn = turn.then(task).catch(() => say("The server does not answer; try again."));
}

/**
 * Send the form, or another in its place, and show all of it that may have changed.
 * @param {HTMLFormElement} filled
 * @param {string} button
 */
async function renew(filled, button) {
  running.abort();
  const answer = await send(filled, { do: button });
  const list = /** @type {HTMLTextAreaElement | null} */ (answer.page.getElementById("text"));
  if (!list) return say(answer.page.querySelector("main p")?.textContent ?? "");
  await swap(answer, ["reading", "stock", "on-hand"]);
  offerKnown();
  if (String(answer.before.get("text")).replaceAll("\r\n", "\n") !== text.value) return readSoon();
  if (list.value !== text.value) text.value = list.value;
  renumber();
  say(answer.page.getElementById("said")?.textContent ?? "");
}

/** Press a button of the form without leaving the page. @param {HTMLButtonElement} button */
async function press(button) {
  await renew(form, button.value);
  if (button.dataset.focus) document.getElementById(button.dataset.focus)?.focus();
}

/** Put a mended line into the list. @param {HTMLInputElement} field */
async function mend(field) {
  const lines = text.value.split("\n");
  lines[Number(field.dataset.line) - 1] = field.value;
  text.value = lines.join("\n");
  field.defaultValue = field.value;
  await read();
  const next = document.querySelector(".fix");
  if (document.activeElement === document.body && next instanceof HTMLInputElement) next.focus();
}

form.addEventListener("input", (event) => {
  const field = event.target;
  if (field instanceof HTMLInputElement && field.matches(".fix, .title-block input")) return;
  readSoon();
});
form.addEventListener("change", (event) => {
  const field = event.target;
  if (!(field instanceof HTMLElement)) return;
  if (field.matches(".fix")) mend(/** @type {HTMLInputElement} */ (field));
  if (field.matches("[name$=-category], #units")) inTurn(() => renew(form, "read"));
  if (field.matches("[name$=-name]")) {
    inTurn(() => renew(recall(form, /** @type {HTMLInputElement} */ (field)) ?? form, "read"));
  }
});
form.addEventListener("submit", (event) => {
  const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
  if (button?.value === "plan") return remember(form);
  event.preventDefault();
  const field = document.activeElement;
  if (!button?.classList.contains("first")) return button && inTurn(() => press(button));
  if (field instanceof HTMLInputElement && field.matches(".fix")) mend(field);
  else read();
});
text.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) document.getElementById("plan")?.click();
});
document.getElementById("faults")?.focus();
offerKnown();
if (text.value) read();
