// Sends the form and puts what comes back in its place, so that nobody waits for a whole page.

/**
 * Send a form as it stands and return the document that the server answers.
 * @param {HTMLFormElement} form
 * @param {Record<string, string>} extra fields to add or to replace
 * @param {AbortSignal} [signal]
 * @returns {Promise<Document>}
 */
export async function send(form, extra, signal) {
  const fields = new FormData(form);
  for (const name of [...fields.keys()]) {
    // a line that is being put right beside the list is already in the list
    if (name.startsWith("fix:") || name.startsWith("was:")) fields.delete(name);
  }
  for (const [name, value] of Object.entries(extra)) fields.set(name, value);
  const body = new URLSearchParams(/** @type {any} */ (fields));
  const answer = await fetch(form.action, { method: "POST", body, signal });
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

/**
 * Replace parts of this page by those of another with the same id; the cursor stays where it is.
 * @param {Document} from
 * @param {string[]} ids
 */
export function swap(from, ids) {
  const focused = document.activeElement;
  for (const id of ids) {
    const old = document.getElementById(id);
    const fresh = from.getElementById(id);
    if (old && fresh && !old.isEqualNode(fresh)) old.replaceWith(document.importNode(fresh, true));
  }
  if (focused?.id && !focused.isConnected) stayAt(focused);
}

/**
 * Go on in the new place of a field, with what was typed in it meanwhile.
 * @param {Element} old the field as it was
 */
function stayAt(old) {
  const fresh = document.getElementById(old.id);
  fresh?.focus();
  if (fresh instanceof HTMLInputElement && old instanceof HTMLInputElement && fresh.type === "text") {
    fresh.value = old.value;
    fresh.setSelectionRange(old.selectionStart, old.selectionEnd);
  }
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
