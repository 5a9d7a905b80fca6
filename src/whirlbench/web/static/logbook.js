// What is typed in the logbook survives a reload and lost wifi; photos are made small before they travel; news are shown.
import { onNews, ownTimes } from "./page.js";

const MOST = 1600; // pixels of the longer side, as the server keeps them
const form = document.querySelector("form[enctype]");
const draft = form?.dataset.draft;
const typed = () => [...form.querySelectorAll("textarea, input[name=predicted]")];

if (draft && new URLSearchParams(location.search).has("kept")) {
  localStorage.removeItem(draft); // the server has it: only now may the draft go
  history.replaceState(null, "", location.pathname);
}

if (draft) {
  const kept = JSON.parse(localStorage.getItem(draft) || "{}");
  for (const field of typed()) {
    if (!field.value && kept[field.name]) {
      field.value = kept[field.name];
      field.closest("details")?.setAttribute("open", "");
    }
  }
  form.addEventListener("input", () => {
    localStorage.setItem(draft, JSON.stringify(Object.fromEntries(typed().map((field) => [field.name, field.value]))));
  });
}

async function small(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const share = Math.min(1, MOST / Math.max(picture.width, picture.height));
  const canvas = Object.assign(document.createElement("canvas"), { width: picture.width * share, height: picture.height * share });
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  const made = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  return made && made.size < file.size ? new File([made], "photo.jpg", { type: "image/jpeg" }) : file;
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = form.querySelector("button.main");
  button.disabled = true;
  const photos = form.querySelector("input[type=file]");
  try {
    const box = new DataTransfer();
    for (const file of photos.files) box.items.add(await small(file).catch(() => file));
    photos.files = box.files;
  } catch {
    // an old browser sends them as they are
  }
  form.submit();
});

let waiting;
onNews((told) => {
  if (!("n" in told) || location.search.includes("before=") || !document.getElementById("line")) return;
  clearTimeout(waiting);
  waiting = setTimeout(async () => {
    const text = await (await fetch(location.href)).text();
    const found = new DOMParser().parseFromString(text, "text/html").getElementById("line");
    if (found) document.getElementById("line").replaceWith(found);
    ownTimes(found);
  }, 700);
});
