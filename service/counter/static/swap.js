// Sends the form and puts what comes back in its place, so that nobody waits for a whole page.

/**
 * @typedef {object} Answer
 * @property {Document} page what the server answered
 * @property {FormData} before the page's own fields as they were then
 */

/**
 * Send a form as it stands.
 * @param {HTMLFormElement} form
 * @param {Record<string, string>} extra fields to add or to replace
 * @param {AbortSignal} [signal]
 * @returns {Promise<Answer>}
 */
export async function send(form, extra, signal) {
  const sent = new FormData(form);
  const before = new FormData(/** @type {HTMLFormElement} */ (document.getElementById("counter")));
  for (const name of [...sent.keys()]) {
    // a line that is being put right beside the list is already in the list
    if (name.startsWith("fix:") || name.startsWith("was:")) sent.delete(name);
  }
  for (const [name, value] of Object.entries(extra)) sent.set(name, value);
  const body = new URLSearchParams(/** @type {any} */ (sent));
  const answer = await fetch(form.action, { method: "POST", body, signal });
  return { page: new DOMParser().parseFromString(await answer.text(), "text/html"), before };
}

let pressed = Promise.resolve();
addEventListener("pointerdown", () => {
  pressed = new Promise((resolve) => {
    for (const name of ["pointerup", "pointercancel", "dragend"]) {
      addEventListener(name, () => setTimeout(resolve), { once: true });
    }
  });
}, true);

/**
 * Replace parts of this page by those of an answer with the same id. The cursor stays where it is, what was typed
 * meanwhile stays too, what was opened stays open, and a button that is being pressed stays until it has been.
 * @param {Answer} answer
 * @param {string[]} ids
 * @returns {Promise<void>}
 */
export async function swap({ page, before }, ids) {
  await pressed;
  const focused = document.activeElement;
  for (const id of ids) {
    const old = document.getElementById(id);
    const fresh = page.getElementById(id);
    if (!old || !fresh) continue;
    keepOpen(old, fresh);
    if (old.isEqualNode(fresh)) continue;
    keepTyped(old, fresh, before);
    old.replaceWith(document.importNode(fresh, true));
  }
  if (focused?.id && !focused.isConnected) stayAt(focused);
}

/** Carry over what was typed since the form was sent. @param {Element} old @param {Element} fresh @param {FormData} before */
function keepTyped(old, fresh, before) {
  for (const field of old.querySelectorAll("input:not([type]), select")) {
    const { name, value } = /** @type {HTMLInputElement} */ (field);
    if (!before.has(name) || before.get(name) === value) continue;
    const same = fresh.querySelector(`[name="${CSS.escape(name)}"]`);
    if (same instanceof HTMLInputElement) same.setAttribute("value", value);
    if (same instanceof HTMLSelectElement) for (const one of same.options) one.toggleAttribute("selected", one.value === value);
  }
}

/** Leave open what was opened; without an id it is known by its place within what has one. @param {Element} old @param {Element} fresh */
function keepOpen(old, fresh) {
  for (const opened of old.querySelectorAll("details[open]")) {
    if (opened.id) {
      fresh.querySelector(`[id="${CSS.escape(opened.id)}"]`)?.setAttribute("open", "");
      continue;
    }
    const home = /** @type {Element} */ (opened.closest("[id]"));
    const same = home === old ? fresh : fresh.querySelector(`[id="${CSS.escape(home.id)}"]`);
    const place = [...home.querySelectorAll("details")].indexOf(/** @type {HTMLDetailsElement} */ (opened));
    same?.querySelectorAll("details")[place]?.setAttribute("open", "");
  }
}

/** Go on in the new place of a field. @param {Element} old the field as it was */
function stayAt(old) {
  const fresh = document.getElementById(old.id);
  fresh?.focus();
  if (!(fresh instanceof HTMLInputElement && old instanceof HTMLInputElement && fresh.type === "text")) return;
  // what came into an empty field gives way to the next key, as in a field that one has just come to
  if (!old.value) fresh.select();
  else fresh.setSelectionRange(old.selectionStart, old.selectionEnd);
}

/**
 * Call a function once nobody has called for it for a while.
 * @param {() => void} action
 * @param {number} quiet milliseconds
 * @returns {() => void}
 */
export function settled(action, quiet) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(action, quiet);
  };
}
