// What is being typed, kept at the server: there again after a reload, back, a closed tab, or on another day.
import { settled } from "./swap.js";

const QUIET = 400;
const LEFT = "lapstock.left";

/**
 * Keep a form while it is filled in, and let the address of the page lead to what is kept of it.
 * @param {HTMLFormElement} form
 */
export function keepDraft(form) {
  const way = new URL(form.action).pathname;
  let touched = false;
  const typed = () => {
    const fields = new FormData(form);
    fields.set("way", way);
    fields.delete("do");
    fields.delete("file");
    return new URLSearchParams(/** @type {any} */ (fields));
  };
  const mark = () => {
    const token = new FormData(form).get("token");
    if (new URL(location.href).searchParams.get("draft") !== token) history.replaceState(null, "", `${way}?draft=${token}`);
  };
  /** @param {URLSearchParams} body */
  const send = (body) => fetch("/drafts", { method: "POST", body }).catch(() => {});
  const keep = settled(() => touched && send(typed()), QUIET);
  form.addEventListener("input", () => {
    touched = true;
    mark();
    keep();
  });
  form.addEventListener("submit", ({ submitter }) => {
    // what is planned is no draft any more
    if (!(submitter instanceof HTMLButtonElement) || submitter.value === "plan") touched = false;
  });
  // a beacon is sent even while the page is being left, but may come later than the next page is asked for
  addEventListener("pagehide", () => {
    if (!touched) return;
    navigator.sendBeacon("/drafts", typed());
    store(() => sessionStorage.setItem(LEFT, typed().toString()));
  });
  const left = store(() => sessionStorage.getItem(LEFT));
  store(() => sessionStorage.removeItem(LEFT));
  const same = left && new URLSearchParams(left).get("token") === new FormData(form).get("token");
  if (same && left !== typed().toString()) send(new URLSearchParams(left)).then(() => location.reload());
}

/** Do something with what the browser keeps, if it keeps anything. @template T @param {() => T} action @returns {T | null} */
function store(action) {
  try {
    return action();
  } catch {
    return null;
  }
}
