// The finished plan: copying and printing.
import { taken } from "./remember.js";

taken();

document.documentElement.classList.add("js");
const copy = /** @type {HTMLButtonElement | null} */ (document.getElementById("copy"));
const text = document.getElementById("order-text");

copy?.addEventListener("click", async () => {
  try {
    await navigator.clipboard.writeText(text?.textContent ?? "");
  } catch {
    // without a secure connection there is no clipboard: show the text, selected, to be copied by hand
    text?.closest("details")?.setAttribute("open", "");
    if (text) getSelection()?.selectAllChildren(text);
    return;
  }
  const words = copy.textContent;
  copy.textContent = copy.dataset.copied ?? "";
  setTimeout(() => (copy.textContent = words), 2000);
});
document.getElementById("print")?.addEventListener("click", () => print());
for (const link of document.querySelectorAll(".print")) link.addEventListener("click", (event) => {
  const sheet = open(/** @type {HTMLAnchorElement} */ (event.currentTarget).href);
  if (!sheet) return;
  event.preventDefault();
  sheet.addEventListener("load", () => sheet.print());
});
document.getElementById("faults")?.focus();
