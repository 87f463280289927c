// The numbers of the lines beside the list, so that a line that was read is found where it was written.

/**
 * Number the lines of a text field and keep the numbers beside them.
 * @param {HTMLTextAreaElement} text
 * @returns {() => void} to be called when the text was changed by other than typing
 */
export function number(text) {
  const gutter = document.createElement("pre");
  gutter.className = "gutter";
  gutter.setAttribute("aria-hidden", "true");
  text.after(gutter);
  let lines = 0;
  const place = () => {
    gutter.style.height = `${text.clientHeight}px`;
    gutter.scrollTop = text.scrollTop;
  };
  const count = () => {
    const now = text.value === "" ? 0 : text.value.split("\n").length;
    if (now !== lines) gutter.textContent = Array.from({ length: now }, (_, n) => n + 1).join("\n");
    lines = now;
    place();
  };
  text.addEventListener("input", count);
  text.addEventListener("scroll", place, { passive: true });
  new ResizeObserver(place).observe(text);
  count();
  return count;
}
