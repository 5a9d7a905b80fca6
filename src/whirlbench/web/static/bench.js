// The workbench: a slider moves a field, the server answers with pieces of the page; only the newest answer counts.
import { ask, askJson, drawChart, onNews } from "./page.js";

const desk = document.getElementById("desk");
const own = document.querySelector("script[data-turning]");
const curve = document.getElementById("curve");
const wrongs = document.getElementById("wrongs");
const REST = 600; // ms without a move until bands are asked for
const entries = [...desk.querySelectorAll(".entry")];
const draftName = `bench-${document.body.dataset.team}-${desk.elements.turbine.value}`;
let flying = false;
let wanted = false;
let rest = 0;
let turning = null;
let figure = JSON.parse(document.getElementById("figure")?.textContent || "null");
let speed = Number(desk.dataset.speed || 0);

document.documentElement.classList.add("scripted");

// --- what is typed -------------------------------------------------------------------------------------------------

const fieldOf = (entry) => entry.querySelector("input[name], select");

/** What is typed and not kept, as a query. */
function typed() {
  const found = new URLSearchParams({ turbine: desk.elements.turbine.value });
  for (const entry of entries) {
    const field = fieldOf(entry);
    if (field.value.trim() !== entry.dataset.kept) found.set(field.name, field.value);
  }
  return found;
}

/** Keep what is typed in the address and on this machine, so that neither reload nor restart loses it. */
function remember() {
  const now = typed();
  const any = [...now.keys()].length > 1;
  history.replaceState(null, "", `?${now}`);
  try {
    if (any) localStorage.setItem(draftName, JSON.stringify({ kept: desk.dataset.kept, query: String(now) }));
    else localStorage.removeItem(draftName);
  } catch { /* a full or closed store only loses the draft */ }
}

function draft() {
  try {
    const found = JSON.parse(localStorage.getItem(draftName));
    return found?.kept === desk.dataset.kept ? found.query : "";
  } catch { return ""; }
}

// --- sliders -------------------------------------------------------------------------------------------------------

function slider(slide) {
  const { low, high, step, unit } = slide.dataset;
  const field = document.getElementById(slide.dataset.for);
  const grows = Number(step) === 0; // steps that grow with the number
  const span = Math.log(high / low);
  const places = Number(step) < 1 && !grows ? 1 : 0;
  Object.assign(slide, grows ? { min: 0, max: 200, step: 1 } : { min: low, max: high, step });
  const follow = () => {
    const value = Number.parseFloat(field.value);
    if (Number.isFinite(value)) slide.value = grows ? (200 * Math.log(Math.max(value, low) / low)) / span : value;
    slide.setAttribute("aria-valuetext", field.value);
  };
  slide.addEventListener("input", () => {
    const value = grows ? Number((low * Math.exp((span * slide.value) / 200)).toPrecision(2)) : Number(slide.value).toFixed(places);
    field.value = `${Number(value)} ${unit}`.trim();
    slide.setAttribute("aria-valuetext", field.value);
    moved();
  });
  field.addEventListener("input", follow);
  follow();
  slide.hidden = false;
}

// --- answers -------------------------------------------------------------------------------------------------------

/** Put pieces that came as HTML in the place of the old ones. */
function replacePieces(html) {
  const fresh = new DOMParser().parseFromString(html, "text/html");
  for (const piece of fresh.querySelectorAll("[data-piece]")) {
    const old = document.querySelector(`[data-piece="${piece.dataset.piece}"]`);
    if (!old) continue;
    const open = [...old.querySelectorAll("details")].map((one) => one.open);
    old.replaceChildren(...piece.childNodes);
    old.querySelectorAll("details").forEach((one, number) => { one.open = open[number] ?? false; });
  }
}

/** Show what is wrong under its field, and what is wrong with no field above all. */
function showWrong(found = {}) {
  for (const entry of entries) {
    const said = found[entry.dataset.path];
    const line = entry.querySelector(".wrong");
    line.textContent = (said || []).join(" ");
    line.hidden = !said;
    fieldOf(entry).toggleAttribute("aria-invalid", Boolean(said));
    if (said) fieldOf(entry).setAttribute("aria-invalid", "true");
    if (said) entry.closest("details")?.setAttribute("open", "");
  }
  const others = found[""] || [];
  wrongs.replaceChildren(...others.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
  wrongs.hidden = !others.length;
}

function moved() {
  wanted = true;
  clearTimeout(rest);
  rest = setTimeout(settle, REST);
  if (!flying) look();
}

async function look() {
  flying = true;
  while (wanted) {
    wanted = false;
    try {
      const found = await askJson(`${desk.dataset.answer}?${typed()}`);
      showWrong();
      replacePieces(found.html);
      figure = found.figure;
      speed = found.point.rotor_speed_rad_s;
      turning?.show(figure, speed);
      if (!wanted) await drawChart(curve, found.chart);
    } catch (error) {
      if (error.found?.wrong) showWrong(error.found.wrong);
      else if (error.status === 401 || error.status === 404) location.reload();
    }
  }
  flying = false;
}

/** The sliders rest: ask for the bands and keep what is typed. */
async function settle() {
  remember();
  const asked = String(typed());
  try {
    const found = await askJson(`${desk.dataset.outlook}?${asked}`, { patience: 30000 });
    if (asked !== String(typed())) return;
    if (found.later) {
      rest = setTimeout(settle, 1500 + 2000 * Math.random());
      return;
    }
    replacePieces(`<div data-piece="outlook">${found.html}</div>`);
    await drawChart(curve, found.chart);
  } catch { /* the best estimate stands */ }
}

// --- 3-D -----------------------------------------------------------------------------------------------------------

const button = document.getElementById("turn");
if (button && figure && window.WebGLRenderingContext) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const still = document.querySelector(".drawn");
    const canvas = document.getElementById("turning");
    const on = button.getAttribute("aria-pressed") !== "true";
    const back = () => {
      canvas.hidden = true;
      still.hidden = false;
      button.setAttribute("aria-pressed", "false");
      button.textContent = button.dataset.on;
    };
    if (!on) {
      turning?.stop();
      back();
      return;
    }
    try {
      const { Turning } = await import(own.dataset.turning);
      canvas.hidden = false;
      still.hidden = true;
      turning ??= new Turning(canvas, back);
      turning.show(figure, speed);
      turning.start();
      button.setAttribute("aria-pressed", "true");
      button.textContent = button.dataset.off;
    } catch {
      turning = null;
      back();
      button.hidden = true; // this machine draws no 3-D; the still picture says as much
    }
  });
}

// --- explanations --------------------------------------------------------------------------------------------------

const dialog = document.getElementById("explained");
document.addEventListener("click", async (event) => {
  const link = event.target.closest?.("a.why");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const quantity = link.pathname.split("/").pop();
  const place = `/teams/${document.body.dataset.team}/explain/${quantity}?${typed()}`;
  const answer = await ask(`${place}&part=1`).catch(() => null);
  if (!answer || answer.redirected) location.assign(place);
  document.getElementById("explanation").innerHTML = await answer.text();
  if (!dialog.open) dialog.showModal();
  dialog.scrollTop = 0;
});

// --- begin ---------------------------------------------------------------------------------------------------------

for (const slide of desk.querySelectorAll(".slide")) slider(slide);
desk.addEventListener("change", (event) => {
  if ("makesParts" in event.target.dataset) location.search = typed(); // other fields: the whole page anew
  else if (event.target.name?.includes(".")) moved();
});
desk.addEventListener("submit", (event) => {
  if (event.submitter?.formMethod === "post") {
    for (const entry of entries) fieldOf(entry).disabled = fieldOf(entry).value.trim() === entry.dataset.kept;
    return;
  }
  event.preventDefault();
  moved();
});
document.getElementById("forget")?.addEventListener("click", () => {
  try { localStorage.removeItem(draftName); } catch { /* nothing was kept */ }
});
addEventListener("pageshow", () => { for (const entry of entries) fieldOf(entry).disabled = false; });
onNews(async (told) => {
  if (told.verb !== "keep turbine" || told.subject !== desk.elements.turbine.value) return;
  const found = await askJson(`${desk.dataset.answer}?${typed()}`).catch(() => null); // the news may be of this very page
  if (found && String(found.version) !== desk.dataset.kept) document.getElementById("newer").hidden = false;
});

const left = draft();
if (left && ![...new URLSearchParams(location.search).keys()].some((name) => name.includes("."))) location.search = left;
else settle();
