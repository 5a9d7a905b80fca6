// What every page does: speaks to the server with patience, hears live news, shows times in the reader's own zone.

const news = document.getElementById("news");
const mark = document.body.dataset.mark;

/** Say something in the one line that screen readers follow; nothing takes it away. */
export function say(words) {
  if (!news) return;
  news.textContent = words || "";
  news.hidden = !words;
}

/** Ask the server: gives up after a while, tries again with growing pauses, keeps the reader told. Returns a Response. */
export async function ask(address, { body, method, tries = 4, patience = 6000, headers = {}, ...more } = {}) {
  for (let turn = 0; ; turn += 1) {
    try {
      const answer = await fetch(address, {
        method: method || (body ? "POST" : "GET"),
        body,
        headers: { "x-mark": mark, ...headers },
        signal: AbortSignal.timeout(patience),
        ...more,
      });
      if (answer.status !== 503 && answer.status !== 429) {
        if (turn) say("");
        return answer;
      }
      if (turn + 1 >= tries) return answer;
    } catch (error) {
      if (turn + 1 >= tries) throw error;
      say(document.body.dataset.waiting || "Waiting for the room's computer… What you typed is kept.");
    }
    await new Promise((go) => setTimeout(go, 300 * 2 ** turn + 200 * Math.random()));
  }
}

/** Ask and read JSON; throws an Error with the server's own words and its status. */
export async function askJson(address, options = {}) {
  const answer = await ask(address, { ...options, headers: { accept: "application/json", ...(options.headers || {}) } });
  const found = await answer.json().catch(() => ({}));
  if (answer.ok) return found;
  throw Object.assign(new Error(found.error?.says || answer.statusText), { status: answer.status, found });
}

/** Hear news: calls `listener` with {n, verb, subject, author, ...} or {job, stage, share, done}. */
export function onNews(listener) {
  document.addEventListener("room-news", (event) => listener(event.detail));
}

function listen() {
  const kept = `last-news-${document.body.dataset.team || "room"}`;
  let pause = 500;
  const open = () => {
    const after = sessionStorage.getItem(kept) ?? -1;
    const socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/live?after=${after}`);
    let lost = false;
    socket.onmessage = (event) => {
      const told = JSON.parse(event.data);
      pause = 500;
      if ("hello" in told) {
        if (after < 0 || !told.whole) sessionStorage.setItem(kept, told.hello);
        if (lostBefore) { say(""); document.dispatchEvent(new CustomEvent("room-back")); }
        lostBefore = false;
        return;
      }
      if ("n" in told) sessionStorage.setItem(kept, Math.max(told.n, Number(sessionStorage.getItem(kept) ?? 0)));
      document.dispatchEvent(new CustomEvent("room-news", { detail: told }));
    };
    socket.onclose = () => {
      if (lost) return;
      lost = lostBefore = true;
      setTimeout(open, pause + Math.random() * pause);
      pause = Math.min(pause * 2, 8000);
    };
  };
  let lostBefore = false;
  open();
}

export function ownTimes(root = document) {
  for (const each of root.querySelectorAll("time[datetime]")) {
    const moment = new Date(each.dateTime);
    if (!Number.isNaN(moment.valueOf())) {
      each.textContent = moment.toLocaleString(document.documentElement.lang, { dateStyle: "short", timeStyle: "short" });
    }
  }
}

/** Draw Vega-Lite descriptions: every element with data-chart="id of a script of JSON". Fetches the library only here. */
export async function drawCharts(root = document) {
  // asked for at once, while the library still comes: what a page finds out meanwhile is drawn after it, not before
  const words = (place) => JSON.parse(document.getElementById(place.dataset.chart).textContent);
  await Promise.all([...root.querySelectorAll("[data-chart]")].map((place) => drawChart(place, words(place))));
}

/** Draw into a place; what is asked for last stands there last, however slow the machine is. */
export function drawChart(place, description) {
  place.drawing = (place.drawing ?? charts()).catch(charts).then(() => embed(place, description));
  return place.drawing;
}

async function embed(place, description) {
  const found = await window.vegaEmbed(place, description, { actions: false, renderer: "svg", ast: true, tooltip: false, defaultStyle: false });
  place.view?.finalize();
  place.view = found.view;
  return found.view;
}

let loading;
function charts() {
  loading ??= import(document.body.dataset.charts).catch((error) => {
    loading = undefined; // asked for again when the way is free
    throw error;
  });
  return loading;
}

if ("live" in document.body.dataset) listen();
ownTimes();
drawCharts();
