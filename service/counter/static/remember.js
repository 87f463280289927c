// Materials that were planned with on this machine: offered by name, filled in when picked. Nothing else is kept.

const SHELF = "lapstock.materials";
const ASKED = "lapstock.asked";
const MOST = 60;

/** @returns {Record<string, Record<string, string>>} fields by material, without their place on the page */
function shelf() {
  try {
    return JSON.parse(localStorage.getItem(SHELF) ?? "{}");
  } catch {
    return {};
  }
}

/**
 * Note the materials of a form that is to be planned; they are kept once it is taken.
 * @param {HTMLFormElement} form
 */
export function remember(form) {
  const blocks = [...form.querySelectorAll(".material")].map((block) => [...fieldsOf(/** @type {HTMLFieldSetElement} */ (block))]);
  try {
    sessionStorage.setItem(ASKED, JSON.stringify(blocks));
  } catch {
    // a browser that keeps nothing still plans
  }
}

/** Keep the materials that were just planned with: what is refused never comes here. */
export function taken() {
  try {
    const known = shelf();
    for (const block of JSON.parse(sessionStorage.getItem(ASKED) ?? "[]")) {
      const fields = Object.fromEntries(block);
      const name = fields["-name"]?.trim();
      if (!name) continue;
      delete known[name];
      known[name] = fields;
    }
    sessionStorage.removeItem(ASKED);
    localStorage.setItem(SHELF, JSON.stringify(Object.fromEntries(Object.entries(known).slice(-MOST))));
  } catch {
    // a browser that keeps nothing still plans
  }
}

/** Forget what was to be planned: it was refused where it leads back to its form. */
export function refused() {
  sessionStorage.removeItem(ASKED);
}

/** Offer the names that are known, behind those of the catalogue, which goes before what was planned with. */
export function offerKnown() {
  const list = document.getElementById("known");
  for (const option of list?.querySelectorAll("option:not([data-catalogue])") ?? []) option.remove();
  list?.append(...Object.keys(shelf()).reverse().filter((name) => !inCatalogue(name)).map((name) => new Option(name, name)));
}

/** Whether a name is a material's of the catalogue, with which the server fills it in. @param {string} name */
function inCatalogue(name) {
  return document.querySelector(`#known > option[data-catalogue][value="${CSS.escape(name)}"]`) !== null;
}

/**
 * Return a copy of the form with a material filled in as it was kept, or null if its name is not known.
 * @param {HTMLFormElement} form
 * @param {HTMLInputElement} field where the name was entered
 * @returns {HTMLFormElement | null}
 */
export function recall(form, field) {
  const kept = inCatalogue(field.value.trim()) ? undefined : shelf()[field.value.trim()];
  const block = field.closest(".material");
  if (!kept || !block || [...fieldsOf(/** @type {HTMLFieldSetElement} */ (block))].some(typed)) return null;
  const filled = document.createElement("form");
  filled.action = form.action;
  for (const [name, value] of new FormData(form)) {
    if (!name.startsWith(`${block.id}-`)) filled.append(hidden(name, String(value)));
  }
  for (const [name, value] of Object.entries(kept)) filled.append(hidden(block.id + name, value));
  return filled;
}

/** Whether a field holds something that a kept material would write over. @param {[string, string]} field */
function typed([name, value]) {
  return value !== "" && !["-name", "-category"].includes(name);
}

/**
 * Yield the fields of one material, named without its place.
 * @param {HTMLFieldSetElement} block
 * @returns {Generator<[string, string]>}
 */
function* fieldsOf(block) {
  for (const field of block.elements) {
    if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) continue;
    // which row of a stored plan it is, and how many there were that day, is no part of a material
    if (field.type === "hidden" || /-(available|out)$/.test(field.name)) continue;
    // a box that is not ticked has its value all the same
    if (field.type === "checkbox" && !field.checked) continue;
    yield [field.name.slice(block.id.length), field.value];
  }
}

/** @param {string} name @param {string} value */
function hidden(name, value) {
  const field = document.createElement("input");
  field.type = "hidden";
  field.name = name;
  field.value = value;
  return field;
}
