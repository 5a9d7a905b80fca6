// Waits for one job: shows how far it is, loads the page again when it is done.

import { askJson, onNews } from "./page.js";

const bar = document.querySelector("progress[data-job]");

async function look() {
  const told = await askJson(location.href).catch(() => null);
  if (told) show(told);
}

function show(told) {
  if (told.done) location.reload();
  else if (told.share) bar.value = told.share;
}

if (bar) {
  onNews((told) => { if (told.job === bar.dataset.job) show(told); });
  document.addEventListener("room-back", look);
  setInterval(look, 4000);
  look();
}
