// A form whose buttons work without a new page: each sends the form and shows what became of it, one after the other.
import { send, swap } from "./swap.js";

export class Live {
  /**
   * @param {HTMLFormElement} form
   * @param {string[]} parts ids of what a button may change
   * @param {(words: string) => void} say shows a sentence to whoever is at the form
   */
  constructor(form, parts, say) {
    this.form = form;
    this.parts = parts;
    this.say = say;
    this.running = new AbortController();
    this.turn = Promise.resolve();
  }

  /** Do something once what was asked for before is done. @param {() => Promise<unknown>} task */
  inTurn(task) {
    this.turn = this.turn.then(async () => void (await task())).catch(() => this.say("The server does not answer; try again."));
    return this.turn;
  }

  /**
   * Send the form, or another in its place, and show all that may have changed.
   * @param {string} button
   * @param {HTMLFormElement} [filled]
   * @returns {Promise<import("./swap.js").Answer | null>} null where the server had no such page to answer with
   */
  async renew(button, filled) {
    this.running.abort();
    const answer = await send(filled ?? this.form, { do: button });
    if (!answer.page.getElementById(this.form.id)) {
      this.say(answer.page.querySelector("main p")?.textContent ?? "");
      return null;
    }
    await swap(answer, this.parts);
    return answer;
  }

  /**
   * Have one part made anew while one types; an older answer never comes after a newer one.
   * @param {string} part
   * @param {(answer: import("./swap.js").Answer) => Promise<void>} show
   */
  async refresh(part, show) {
    await this.turn;
    this.running.abort();
    this.running = new AbortController();
    const { signal } = this.running;
    try {
      const answer = await send(this.form, { do: "read", part }, signal);
      if (!signal.aborted) await show(answer);
    } catch {
      if (!signal.aborted) this.say("The server does not answer; it is asked again as you type.");
    }
  }

  /** Go on in the field that a button made. @param {HTMLButtonElement} button */
  follow(button) {
    if (button.dataset.focus) document.getElementById(button.dataset.focus)?.focus();
  }
}
