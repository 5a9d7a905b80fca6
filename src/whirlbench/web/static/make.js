// A file that takes a while: follow the news of its job, then offer it.
import { askJson, onNews } from "./page.js";

const place = document.querySelector("[data-job]");
const bar = place?.querySelector("progress");

function show({ share, done, failed }) {
  if (!done) {
    if (bar) bar.value = share;
  } else if (failed) {
    place.textContent = place.dataset.failed;
    place.classList.add("wrong");
  } else {
    place.replaceChildren(place.querySelector("template").content.cloneNode(true));
    place.querySelector("a").focus({ preventScroll: true });
  }
}

async function look() {
  const found = await askJson(`${place.dataset.place}job/${place.dataset.job}`);
  show(found);
  if (!found.done) setTimeout(look, 2000);
}

if (place) {
  onNews((told) => {
    if (told.job === place.dataset.job && !told.done) show(told);
  });
  look();
}
