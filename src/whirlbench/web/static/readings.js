// Quick entry of readings: kept at once or asked about, drafts and unsent readings survive, the table follows the news.

import { ask, onNews, ownTimes, say } from "./page.js";

const form = document.getElementById("enter");
const rows = document.getElementById("rows");
const team = document.body.dataset.team;
const fields = (name) => form.elements[name];
const STAY = ["mark", "turbine", "wind_speed", "load_resistance", "build", "block", "meter", "plan", "run", "back"];
const draftName = `draft-reading-${team}-${fields("plan").value}-${fields("run").value}`;
const outboxName = `unsent-readings-${team}`;

const words = () => new URLSearchParams(new FormData(form));
const read = (name, otherwise) => {
  try { return JSON.parse(localStorage.getItem(name)) ?? otherwise; } catch { return otherwise; }
};
const write = (name, value) => {
  try { localStorage.setItem(name, JSON.stringify(value)); } catch { /* a full or closed store only loses the draft */ }
};

async function send(body, place = form.action, options = {}) {
  body.set("mark", document.body.dataset.mark);
  const answer = await ask(place, { body, tries: 2, patience: 8000, headers: { accept: "application/json" }, ...options });
  const found = await answer.json().catch(() => null);
  if (!found || (answer.status >= 400 && !found.wrong)) throw Object.assign(new Error(found?.error?.says || form.dataset.failed), { said: true });
  return found;
}

// ---- what is typed ----
function keepDraft() {
  const now = Object.fromEntries(words());
  delete now.mark;
  write(draftName, now);
}

function restoreDraft() {
  const draft = read(draftName, null);
  if (!draft || form.querySelector("[aria-invalid=true]") || document.querySelector("#asked .caution")) return;
  for (const [name, value] of Object.entries(draft)) {
    const field = fields(name);
    if (!field || !value || field instanceof RadioNodeList || name === "back") continue;
    if (field.type === "checkbox") field.checked = true;
    else if (field.tagName !== "SELECT" || [...field.options].some((one) => one.value === value)) field.value = value;
  }
}

function showWrong(wrong = {}) {
  for (const each of form.querySelectorAll("small.wrong")) {
    const name = each.id.slice(2);
    each.textContent = wrong[name] || "";
    each.hidden = !wrong[name];
    const field = fields(name);
    if (field?.setAttribute) {
      if (wrong[name]) { field.setAttribute("aria-invalid", "true"); field.setAttribute("aria-describedby", each.id); }
      else field.removeAttribute("aria-invalid");
    }
  }
  const first = form.querySelector("[aria-invalid=true]");
  if (first) { first.closest("details")?.setAttribute("open", ""); first.focus(); }
}

const worth = document.getElementById("worth");
function watts(number) {
  const size = Math.abs(number);
  if (size < 0.9995e-3) return `${Number((number * 1e6).toPrecision(3))} µW`;
  return size < 0.9995 ? `${Number((number * 1e3).toPrecision(3))} mW` : `${Number(number.toPrecision(3))} W`;
}
const percent = (share) => `${100 * share >= 10 ? Math.round(100 * share) : Number((100 * share).toPrecision(2))}`;
function showWorth(look) {
  worth.textContent = "";
  if (!look || look.electrical_power_W == null) return;
  const piece = (label, number, low, high) => {
    const span = document.createElement("span");
    const strong = document.createElement("strong");
    strong.textContent = number;
    span.append(`${label} `, strong);
    if (low) span.append(` (${low} ${worth.dataset.to} ${high})`);
    worth.append(span);
  };
  const { electrical_power_low_W: low, electrical_power_high_W: high, power_coefficient: cp, tip_speed_ratio: tsr } = look;
  piece(worth.dataset.power, watts(look.electrical_power_W), low != null && watts(low), high != null && watts(high));
  if (cp != null) piece(worth.dataset.cp, `${percent(cp)} %`, percent(look.power_coefficient_low), `${percent(look.power_coefficient_high)} %`);
  if (tsr != null) piece(worth.dataset.tsr, tsr.toPrecision(2));
}

const asked = document.getElementById("asked");
const SHOWN = { voltage: [1, "V"], current: [1, "A"], rotor_speed: [30 / Math.PI, "rpm"] };
function showAsked(look, sure) {
  asked.textContent = "";
  if (!look?.question) return;
  const told = document.createElement("p");
  told.className = "caution";
  told.textContent = `${look.question}.`;
  const row = document.createElement("p");
  row.className = "row";
  const button = (text, does) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", does);
    row.append(made);
  };
  for (const one of look.corrections || []) {
    const [scale, unit] = SHOWN[one.column];
    const text = `${Number((one.number * scale).toPrecision(5))} ${unit}`;
    button(form.dataset.did.replace("#", text), () => {
      fields(one.column).value = text;
      fields(one.column).focus();
      changed();
    });
  }
  if (sure) button(form.dataset.right, () => keep(true));
  asked.append(told, row);
}

let waiting = 0;
let turn = 0;
function changed() {
  keepDraft();
  clearTimeout(waiting);
  waiting = setTimeout(look, 450);
}
async function look() {
  const mine = (turn += 1);
  const body = words();
  if (!body.get("wind_speed") || !["voltage", "current", "rotor_speed"].some((name) => body.get(name))) {
    showWorth(null);
    showAsked(null);
    return;
  }
  try {
    const found = await send(body, `${form.action}/look`, { tries: 1 });
    if (mine !== turn) return;
    showWorth(found.look);
    showAsked(found.look);
  } catch { /* no verdict now; keeping the reading asks again */ }
}

// ---- keeping it ----
let busy = false;
async function keep(sure = false) {
  if (busy) return;
  busy = true;
  clearTimeout(waiting);
  turn += 1;
  const body = words();
  if (sure) body.set("sure", "yes");
  const button = document.getElementById("keep");
  button.disabled = true;
  try {
    const found = await send(body);
    showWrong(found.wrong);
    if (found.asked) { showWorth(found.asked); showAsked(found.asked, true); asked.querySelector("button")?.focus(); }
    if (found.kept) kept(found, body);
  } catch (error) {
    if (error.said) say(error.message);
    else { putInOutbox(body); next(newMark(), body); }
  } finally {
    busy = false;
    button.disabled = false;
  }
}

const newMark = () => `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}${Math.random().toString(36).slice(2)}`;

/** The next reading may be typed and sent while the table is still drawn anew. */
function kept(found, body) {
  const [one] = found.kept.readings;
  const done = document.getElementById("done");
  showWorth(found.look);
  done.textContent = form.dataset.kept.replace("#", one.id);
  done.hidden = false;
  if (found.kept.change) {
    const undo = document.getElementById("undo");
    undo.elements.change.value = found.kept.change;
    undo.hidden = false;
  }
  const back = fields("back").value;
  next(found.sent, body);
  if (back.startsWith(`/teams/${team}/`)) location.assign(back);
  else redraw(one.id);
}

/** Make the form ready for the next reading; what was typed after the last was sent stays. */
function next(mark, sent) {
  for (const field of form.elements) {
    if (!field.name || STAY.includes(field.name) || field.tagName === "SELECT") continue;
    if (field.type === "checkbox") field.checked = false;
    else if (field.value === sent.get(field.name)) field.value = "";
  }
  fields("sent").value = mark;
  showWrong();
  showAsked(null);
  localStorage.removeItem(draftName);
  const first = [...form.querySelectorAll(".big-fields input")].find((one) => !STAY.includes(one.name));
  first?.focus();
}

// ---- readings that the room's computer has not got yet ----
const outbox = document.getElementById("outbox");
function putInOutbox(body) {
  write(outboxName, [...read(outboxName, []), body.toString()]);
  showOutbox();
}
function showOutbox() {
  const count = read(outboxName, []).length;
  outbox.hidden = !count;
  outbox.textContent = count > 1 ? form.dataset.waitingMany.replace("#", count) : form.dataset.waitingOne;
}
let flushing = false;
async function flush() {
  if (flushing) return;
  flushing = true;
  try {
    for (let left = read(outboxName, []); left.length; left = read(outboxName, [])) {
      const body = new URLSearchParams(left[0]);
      const found = await send(body, form.action, { tries: 1 });
      if (found.kept) {
        write(outboxName, read(outboxName, []).slice(1));
        await redraw(found.kept.readings[0].id);
      } else if (![...form.querySelectorAll(".big-fields input")].some((one) => one.value && !STAY.includes(one.name))) {
        write(outboxName, read(outboxName, []).slice(1)); // back into the empty form, with what is asked about it
        for (const [name, value] of body) if (name !== "mark" && fields(name)?.tagName) fields(name).value = value;
        keepDraft();
        showWrong(found.wrong);
        showAsked(found.asked, true);
        break;
      } else break;
    }
  } catch { /* still no way to the room's computer */ }
  flushing = false;
  showOutbox();
}

// ---- the table ----
let drawing = 0;
async function redraw(fresh) {
  const mine = (drawing += 1);
  if (rows.querySelector("td.opened")) return; // somebody writes in it: drawn again when they are done
  const place = rows.dataset.place;
  const answer = await ask(place.includes("?") ? place : place + location.search).catch(() => null);
  if (!answer?.ok || mine !== drawing) return;
  const text = await answer.text();
  const whole = new DOMParser().parseFromString(text, "text/html").getElementById("rows"); // of a page, or rows alone
  rows.innerHTML = whole ? whole.innerHTML : text;
  ownTimes(rows);
  if (!document.querySelector(".latest")) return;
  document.getElementById(`reading-${fresh}`)?.classList.add("fresh");
  const latest = rows.querySelector("tbody tr");
  const card = document.querySelector(".latest");
  if (latest && !location.search.includes("before=")) {
    card.hidden = false;
    const cells = [...latest.cells].map((cell) => cell.textContent.trim());
    const big = card.querySelector(".big") || card.appendChild(Object.assign(document.createElement("p"), { className: "big" }));
    const rest = card.querySelector("p:nth-of-type(2)") || card.appendChild(document.createElement("p"));
    big.textContent = cells[6] || cells[5] || cells[3];
    rest.textContent = cells.slice(1, 6).filter(Boolean).join(" · ");
    const when = card.querySelector(".small") || card.appendChild(Object.assign(document.createElement("p"), { className: "small" }));
    when.textContent = latest.cells[0].innerText.replaceAll("\n", ", ");
  }
}

async function open(link) {
  const answer = await ask(link.href).catch(() => null);
  if (!answer?.ok) { location.assign(link.href); return; }
  const old = rows.querySelector("tr.editing");
  old?.remove();
  const line = document.createElement("tr");
  line.className = "editing";
  const cell = Object.assign(document.createElement("td"), { className: "opened", colSpan: 9 });
  line.append(cell);
  link.closest("tr").after(line);
  fill(cell, await answer.text());
}

function fill(cell, text) {
  const found = new DOMParser().parseFromString(text, "text/html").getElementById("row");
  if (!found) return false;
  for (const one of found.querySelectorAll("[id]")) one.id = `row-${one.id}`;
  for (const one of found.querySelectorAll("label[for]")) one.htmlFor = `row-${one.htmlFor}`;
  for (const one of found.querySelectorAll("[aria-describedby]")) one.setAttribute("aria-describedby", `row-${one.getAttribute("aria-describedby")}`);
  cell.replaceChildren(...found.childNodes);
  ownTimes(cell);
  cell.querySelector("input:not([type=hidden])")?.focus();
  cell.querySelector(".caution")?.scrollIntoView({ block: "nearest" });
  return true;
}

rows.addEventListener("click", (event) => {
  const link = event.target.closest("a");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (link.classList.contains("change")) { event.preventDefault(); open(link); }
  else if (link.closest("td.opened")) { event.preventDefault(); link.closest("tr").remove(); redraw(); }
});

rows.addEventListener("submit", async (event) => {
  const cell = event.target.closest("td.opened");
  if (!cell) return;
  event.preventDefault();
  const body = new URLSearchParams(new FormData(event.target, event.submitter));
  const answer = await ask(event.target.getAttribute("action"), { body }).catch(() => null);
  if (!answer) { say(form.dataset.failed); return; }
  if (answer.redirected) { cell.closest("tr").remove(); await redraw(); return; }
  if (!fill(cell, await answer.text())) say(form.dataset.failed);
});

// The server shows what it asks about without a script; with one, the same is drawn here.
form.addEventListener("submit", (event) => {
  event.preventDefault();
  keep(event.submitter?.name === "sure");
});
form.addEventListener("input", changed);
document.addEventListener("room-back", () => { flush(); redraw(); });
onNews((told) => { if (["log", "change", "delete", "undo"].includes(told.verb)) redraw(); });
setInterval(() => { if (read(outboxName, []).length) flush(); }, 5000);
restoreDraft();
showOutbox();
flush();
look();
(form.querySelector("[aria-invalid=true]") || [...form.querySelectorAll(".big-fields input")].find((one) => !one.value))?.focus({ preventScroll: true });
