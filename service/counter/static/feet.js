// Stock lengths that are a number by themselves: whether feet are meant is asked beside them.

const BARE = /^\s*\d{1,2}([.,]5)?\s*$/;

/** Whether a field is a stock length that may be meant in feet. @param {HTMLElement} field */
export function mayBeFeet(field) {
  return field instanceof HTMLInputElement && field.matches("#stock [name$=-length]") && BARE.test(field.value);
}
