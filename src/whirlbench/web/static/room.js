// The coach's room: fetches the teams anew when something changed, at most every two seconds; prints the slips.
import { ask, onNews, ownTimes } from "./page.js";

const place = document.getElementById("teams");
const OFTEN = 2000;
const ALSO = 60000; // minutes pass without any news
let waiting = 0;
let last = 0;

async function renew() {
  waiting = 0;
  last = Date.now();
  const answer = await ask(place.dataset.address).catch(() => null);
  if (!answer?.ok || answer.redirected) return;
  const found = new DOMParser().parseFromString(await answer.text(), "text/html");
  const focused = place.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
  place.replaceChildren(...found.body.childNodes);
  ownTimes(place);
  if (focused) [...place.querySelectorAll("a")].find((one) => one.getAttribute("href") === focused)?.focus();
}

function soon() {
  waiting ||= setTimeout(renew, Math.max(0, last + OFTEN - Date.now()));
}

if (place) {
  onNews((told) => { if (!("job" in told) || told.done) soon(); });
  document.addEventListener("room-back", soon);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) soon(); });
  setInterval(soon, ALSO);
}

for (const each of document.querySelectorAll("[data-print]")) {
  each.hidden = false;
  each.addEventListener("click", () => window.print());
}
