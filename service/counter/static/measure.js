// The page for what was measured: draws it as one types.
import { keepDraft } from "./draft.js";
import { mayBeFeet } from "./feet.js";
import { Live } from "./live.js";
import { offerKnown, recall, refused, remember } from "./remember.js";
import { settled, swap } from "./swap.js";

document.documentElement.classList.add("js");
const form = /** @type {HTMLFormElement} */ (document.getElementById("counter"));
const live = new Live(form, ["plan-of", "measures", "doubts", "drawn", "stock", "missing", "uses", "on-hand"], say);

/** Show a sentence where the doubts stand. @param {string} words */
function say(words) {
  document.getElementById("doubts")?.replaceChildren(words);
}

/** Have it drawn, as far as it goes. */
function draw() {
  return live.refresh("measured", async (answer) => {
    if (!answer.page.getElementById("drawn")) return say(answer.page.querySelector("main p")?.textContent ?? "It could not be drawn.");
    await swap(answer, ["doubts", "drawn", "missing"]);
    look(document.activeElement);
  });
}
const drawSoon = settled(draw, 300);

/** Bring the drawing of a field's wall into sight, where the drawings stand beside the form. @param {EventTarget | null} field */
function look(field) {
  const wall = field instanceof Element && field.closest(".wall");
  const drawing = wall && document.getElementById(`drawn-${wall.id}`);
  const column = drawing?.closest(".drawn");
  if (drawing && column) column.scrollTop += drawing.getBoundingClientRect().top - column.getBoundingClientRect().top;
}
form.addEventListener("focusin", ({ target }) => look(target));

form.addEventListener("input", (event) => {
  if (event.target instanceof HTMLElement && !event.target.matches(".title-block input")) drawSoon();
});
form.addEventListener("change", (event) => {
  const field = event.target;
  if (!(field instanceof HTMLElement)) return;
  if (mayBeFeet(field)) live.inTurn(() => live.renew("draw"));
  if (field.matches("[name$=-role], #units")) live.inTurn(() => live.renew("draw"));
  if (field.matches("[name$=-name]")) {
    const known = recall(form, /** @type {HTMLInputElement} */ (field)) ?? undefined;
    live.inTurn(() => live.renew("draw", known)).then(offerKnown);
  }
});
form.addEventListener("submit", (event) => {
  const button = /** @type {HTMLButtonElement | null} */ (event.submitter);
  if (!button || ["plan", "sheet"].includes(button.value)) return remember(form);
  event.preventDefault();
  if (button.classList.contains("first")) draw();
  else live.inTurn(() => live.renew(button.value)).then(() => live.follow(button));
});
keepDraft(form);
refused();
document.getElementById("faults")?.focus();
offerKnown();
