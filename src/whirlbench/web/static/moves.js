// What holds a turbine back: fetch it, follow the work while it is done, put it in its place.
import { ask, onNews } from "./page.js";

const place = document.getElementById("moves");
const address = place.dataset.moves;

async function fetchList(job) {
  const answer = await ask(`${address}&part=1${job ? `&job=${job}` : ""}`).catch(() => null);
  if (!answer?.ok || answer.redirected) return;
  place.innerHTML = await answer.text();
  watch();
}

function watch() {
  const job = place.querySelector("[data-job]")?.dataset.job;
  if (job) setTimeout(() => { if (place.querySelector(`[data-job="${job}"]`)) fetchList(job); }, 10000); // news may be lost
}

onNews((told) => {
  const now = place.querySelector("[data-job]");
  if (!now || told.job !== now.dataset.job) return;
  if (told.done) fetchList(told.job);
  else {
    now.querySelector("progress").value = told.share;
    const words = JSON.parse(now.dataset.stages)[told.stage];
    if (words) now.querySelector("p").textContent = words;
  }
});
document.addEventListener("room-back", () => fetchList());
if (place.querySelector("[data-job]")) watch();
else if (!place.childElementCount || place.dataset.empty !== undefined) fetchList();
