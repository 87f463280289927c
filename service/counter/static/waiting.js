// While a plan is being made: asks how far it is, and shows the plan once it is there.
import { taken } from "./remember.js";

taken();

document.documentElement.classList.add("js");
const page = /** @type {HTMLElement} */ (document.getElementById("waiting"));
const gauge = /** @type {HTMLProgressElement} */ (document.getElementById("gauge"));
const PAUSE = 400;
const OVER = ["succeeded", "failed", "cancelled"];
let etag = "";

/** Write a figure as money, or as a length with its unit. @param {number | null} value */
function figure(value) {
  if (value === null) return "…";
  return page.dataset.unit ? `${Math.round(value * 100) / 100} ${page.dataset.unit}` : value.toFixed(2);
}

/** @param {string} id @param {string} words */
function write(id, words) {
  const place = document.getElementById(id);
  if (place && place.textContent !== words) place.textContent = words;
}

/** @param {{state: string, progress: {cost: number | null, bound: number | null, phase: string | null}}} plan */
function show({ state, progress: { cost, bound, phase } }) {
  const { searching = "", tidying = "" } = page.dataset;
  if (state === "running") write("state", phase === "tidying" ? tidying : searching);
  write("cost", figure(cost));
  write("bound", figure(bound));
  gauge.value = cost ? (bound ?? 0) / cost : 0;
}

/** Ask until it is over, sparing both sides what has not changed. */
async function ask() {
  try {
    const answer = await fetch(page.dataset.plan ?? "", { headers: etag ? { "If-None-Match": etag } : {} });
    if (answer.status === 410 || answer.status === 404) return location.reload();
    if (answer.status === 200) {
      etag = answer.headers.get("ETag") ?? "";
      const plan = await answer.json();
      if (OVER.includes(plan.state)) return location.reload();
      show(plan);
    }
  } catch {
    write("state", "The server does not answer; still trying.");
  }
  setTimeout(ask, PAUSE);
}
ask();
