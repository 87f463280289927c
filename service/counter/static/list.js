// The page with the list: reads it as one types, and puts lines right that are mended beside it.
import { number } from "./gutter.js";
import { keepDraft } from "./draft.js";
import { mayBeFeet } from "./feet.js";
import { Live } from "./live.js";
import { offerKnown, recall, refused, remember } from "./remember.js";
import { settled, swap } from "./swap.js";

document.documentElement.classList.add("js");
const form = /** @type {HTMLFormElement} */ (document.getElementById("counter"));
const text = /** @type {HTMLTextAreaElement} */ (document.getElementById("text"));
const said = /** @type {HTMLElement} */ (document.getElementById("said"));
const renumber = number(text);
const MENDED = " \u27f5 ";
const TOO_MUCH = 400_000;

/** Show a sentence about how the reading went, if it is a new one. @param {string} words */
function say(words) {
  if (said.textContent !== words) said.textContent = words;
}
const live = new Live(form, ["reading", "stock", "on-hand"], say);

/** Whether a line beside the list is being put right and must not be taken away. */
function mending() {
  const field = document.activeElement;
  return field instanceof HTMLInputElement && field.matches(".fix") && field.value !== field.defaultValue;
}

/** Have the list read and show the reading. */
async function read() {
  if (text.value.length > TOO_MUCH) return say("This is too much text for one list. Paste a part of it.");
  await live.refresh("reading", async (answer) => {
    const fresh = answer.page.getElementById("reading");
    if (!fresh) return say(answer.page.querySelector("main p")?.textContent ?? "The list could not be read.");
    if (mending()) return;
    await swap(answer, ["reading"]);
    say(fresh.dataset.said ?? "");
  });
}
const readSoon = settled(read, 250);

/** Send the form, or another in its place; the list is taken from the answer unless one has typed on. */
async function renew(/** @type {string} */ button, /** @type {HTMLFormElement | undefined} */ filled) {
  const answer = await live.renew(button, filled);
  if (!answer) return;
  offerKnown();
  if (String(answer.before.get("text")).replaceAll("\r\n", "\n") !== text.value) return readSoon();
  const list = /** @type {HTMLTextAreaElement} */ (answer.page.getElementById("text"));
  if (list.value !== text.value) text.value = list.value;
  renumber();
  say(answer.page.getElementById("said")?.textContent ?? "");
}

/** Put a mended line into the list. @param {HTMLInputElement} field */
async function mend(field) {
  const lines = text.value.split("\n");
  const place = Number(field.dataset.line) - 1;
  // what the customer wrote stays behind the line
  const written = (lines[place] ?? "").split(MENDED).at(-1) ?? "";
  lines[place] = field.value === written || !written.trim() ? field.value : field.value + MENDED + written;
  text.value = lines.join("\n");
  field.defaultValue = field.value;
  await read();
  const next = document.querySelector(".fix");
  if (document.activeElement === document.body && next instanceof HTMLInputElement) next.focus();
}

form.addEventListener("input", (event) => {
  const field = event.target;
  if (!(field instanceof HTMLElement) || field.matches(".fix")) return;
  if (!field.closest(".title-block")) readSoon();
});
form.addEventListener("change", (event) => {
  const field = event.target;
  if (!(field instanceof HTMLElement)) return;
  if (mayBeFeet(field)) live.inTurn(() => renew("read", undefined));
  if (field.matches(".fix")) mend(/** @type {HTMLInputElement} */ (field));
  if (field.matches("#file")) form.requestSubmit(document.getElementById("open"));
  if (field.matches("[name$=-category], #units")) live.inTurn(() => renew("read", undefined));
  if (field.matches("[name$=-name]")) {
    live.inTurn(() => renew("read", recall(form, /** @type {HTMLInputElement} */ (field)) ?? undefined));
  }
});
form.addEventListener("submit", (event) => {
  const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
  if (!button || button.value === "plan") return remember(form);
  if (button.value === "open") return; // a file goes with a whole page
  event.preventDefault();
  const field = document.activeElement;
  if (!button.classList.contains("first")) {
    live.inTurn(() => renew(button.value, undefined)).then(() => live.follow(button));
  } else if (field instanceof HTMLInputElement && field.matches(".fix")) mend(field);
  else read();
});
form.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) document.getElementById("plan")?.click();
});
keepDraft(form);
refused();
document.getElementById("faults")?.focus();
offerKnown();
if (text.value) read();
