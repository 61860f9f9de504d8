// Around the library's terminal: a line that comes back when it was lost, letters as large as the
// window allows, and buttons for hands without a keyboard.
"use strict";

let terminal = document.querySelector("#terminal");
const body = document.body;
const scheme = location.protocol === "https:" ? "wss:" : "ws:";

// ── the line to the program ────────────────────────────────────────────────────────────────────

const Socket = window.WebSocket;
const BEAT = 5000, SILENT = 12000;
const WAITS = [500, 1000, 2000, 4000, 8000];
const MOST_TRIES = 200;
const line = { real: null, face: null, url: "", tries: 0, heard: 0, timer: 0 };

// What the library takes for its socket: it outlives the real one.
window.WebSocket = function (url) {
  const face = new EventTarget();
  face.send = send;
  line.face = face;
  line.url = url;
  if (line.real && line.real.readyState === Socket.OPEN) queueMicrotask(drawAgain);
  else if (!line.real) connect();
  return face;
};

function send(text) {
  if (line.real && line.real.readyState === Socket.OPEN) line.real.send(text);
}

function drawAgain() {
  const asked = new URL(line.url).searchParams;
  const size = { width: Number(asked.get("width")), height: Number(asked.get("height")) };
  line.face.dispatchEvent(new Event("open"));
  send(JSON.stringify(["resize", size]));
  send('["draw"]');
}

function connect() {
  const url = new URL(line.url);
  url.searchParams.set("place", sessionStorage.getItem("place") || "");
  const real = line.real = new Socket(url);
  real.binaryType = "arraybuffer";
  line.heard = Date.now();
  real.addEventListener("open", () => {
    line.tries = 0;
    line.heard = Date.now();
    body.classList.remove("-lost");
    line.face.dispatchEvent(new Event("open"));
  });
  real.addEventListener("message", ({ data }) => {
    if (line.real !== real) return;
    line.heard = Date.now();
    if (typeof data === "string") {
      const [kind, said] = JSON.parse(data);
      if (kind === "place") sessionStorage.setItem("place", said);
      if (kind === "place" || kind === "pong") return;
    }
    line.face.dispatchEvent(new MessageEvent("message", { data }));
  });
  real.addEventListener("close", (event) => {
    if (line.real !== real) return;
    line.real = null;
    if (event.code === 1000 || event.code === 1008) {
      body.classList.remove("-lost");
      line.face.dispatchEvent(new Event("close"));
    } else lost();
  });
}

function lost() {
  const first = !body.classList.contains("-lost");
  body.classList.add("-lost");
  if (first) document.querySelector("#since").textContent = new Date().toTimeString().slice(0, 5);
  why();
  const again = line.tries < MOST_TRIES;
  if (again) line.timer = setTimeout(retry, WAITS[Math.min(line.tries, WAITS.length - 1)]);
  line.tries += 1;
}

function retry() {
  clearTimeout(line.timer);
  if (!line.real) connect();
}

async function why() {
  // A refused socket does not say why: the first page does.
  const words = document.querySelector("#why");
  const enter = document.querySelector("#enter");
  try {
    const answer = await fetch("/", { redirect: "manual", cache: "no-store" });
    const out = answer.type === "opaqueredirect" || answer.status === 401;
    enter.hidden = !out;
    words.textContent = out ? "You have to log in again." : "The server may be full.";
  } catch {
    enter.hidden = true;
    words.textContent = "The server is out of reach.";
  }
}

setInterval(() => {
  const real = line.real;
  if (!real || real.readyState !== Socket.OPEN) return;
  if (Date.now() - line.heard < SILENT) {
    send(JSON.stringify(["ping", String(Date.now())]));
    return;
  }
  line.real = null;
  real.close();
  lost();
}, BEAT);

for (const name of ["online", "focus"]) window.addEventListener(name, () => soon());
document.addEventListener("visibilitychange", () => document.hidden || soon());
const soon = () => body.classList.contains("-lost") && retry();

// ── letters ────────────────────────────────────────────────────────────────────────────────────

const SMALLEST = 8, USUAL = 16, LARGEST = 40;
const LEAST = [60, 20], WHOLE = [80, 24], EASY = 11;
const chosen = () => Number(sessionStorage.getItem("letters")) || Number(terminal.dataset.chosen);

function fits(size, [columns, rows]) {
  const ruler = document.querySelector("#ruler");
  const { width, height } = ruler.getBoundingClientRect();
  const each = [width / ruler.textContent.length / 100, Math.ceil(height) / 100];
  const room = terminal.getBoundingClientRect();
  return columns * each[0] * size <= room.width - 15 && rows * Math.ceil(each[1] * size) <= room.height;
}

function best() {
  const largest = (shape, from) => {
    for (let size = USUAL; size >= from; size -= 0.5) if (fits(size, shape)) return size;
    return 0;
  };
  return largest(WHOLE, EASY) || largest(LEAST, SMALLEST) || SMALLEST;
}

function sized() {
  body.classList.remove("-narrow");  // its line takes room from the page that is measured
  const size = chosen() || best();
  body.classList.toggle("-narrow", !fits(size, LEAST));
  return size;
}

function letters(size) {
  // The library's terminal takes its size once: another one takes its place on the same line.
  const fresh = terminal.cloneNode(false);
  fresh.dataset.fontSize = size;
  terminal.replaceWith(fresh);
  terminal = fresh;
  begin();
}

function larger(by) {
  const size = Math.max(SMALLEST, Math.min(LARGEST, Math.round(Number(terminal.dataset.fontSize)) + by));
  sessionStorage.setItem("letters", size);
  sized();
  letters(size);
}
document.querySelector("#smaller").addEventListener("click", () => larger(-2));
document.querySelector("#larger").addEventListener("click", () => larger(2));

let breadth = innerWidth, turned = 0;
window.addEventListener("resize", () => {
  if (innerWidth === breadth) return;  // a keyboard on the glass changes the height alone
  breadth = innerWidth;
  clearTimeout(turned);
  turned = setTimeout(() => {
    const size = sized();
    if (size !== Number(terminal.dataset.fontSize)) letters(size);
  }, 250);
});

// ── the terminal ───────────────────────────────────────────────────────────────────────────────

const start = window.onload;
window.onload = null;
const typed = () => terminal.querySelector("textarea");

function begin() {
  terminal.dataset.sessionWebsocketUrl = `${scheme}//${location.host}/ws`;
  start();
  const field = typed();
  if (matchMedia("(pointer: coarse)").matches) field.setAttribute("inputmode", "none");
  touches();
  if (body.classList.contains("-first-byte")) field.focus();
  else focused(field);
}

function focused(field) {
  // Only once the socket is open: the library speaks into it at once.
  new MutationObserver((_, watch) => {
    if (!body.classList.contains("-first-byte")) return;
    watch.disconnect();
    field.focus();
  }).observe(body, { attributes: true, attributeFilter: ["class"] });
}

window.addEventListener("load", async () => {
  const faces = ["", "bold ", "italic "].map((style) => document.fonts.load(`${style}16px 'Roboto Mono'`));
  await Promise.allSettled(faces);
  terminal.dataset.fontSize = sized();
  begin();
});

// A finger that moves turns the wheel, a finger that taps clicks.
function touches() {
  let last = null;
  terminal.addEventListener("touchstart", (event) => { last = event.touches[0].clientY; });
  terminal.addEventListener("touchmove", (event) => {
    const { clientX, clientY } = event.touches[0];
    const wheel = { deltaY: last - clientY, clientX, clientY, bubbles: true, cancelable: true };
    last = clientY;
    terminal.querySelector(".xterm-screen")?.dispatchEvent(new WheelEvent("wheel", wheel));
    event.preventDefault();
  }, { passive: false });
}

// ── buttons ────────────────────────────────────────────────────────────────────────────────────

const CODES = { Tab: 9, Enter: 13, Escape: 27, ArrowLeft: 37, ArrowUp: 38, ArrowRight: 39, ArrowDown: 40 };

function press(name) {
  const key = { key: name, code: name, keyCode: CODES[name], which: CODES[name], bubbles: true, cancelable: true };
  typed().dispatchEvent(new KeyboardEvent("keydown", key));
  typed().dispatchEvent(new KeyboardEvent("keyup", key));
}

for (const button of document.querySelectorAll("#touch button")) {
  button.addEventListener("pointerdown", (event) => event.preventDefault());
  button.addEventListener("click", () => {
    const { act, press: named } = button.dataset;
    if (act) send(JSON.stringify(["act", act]));
    else if (named) press(named);
  });
}
document.querySelector("#again").addEventListener("click", () => location.reload());
document.querySelector("#now").addEventListener("click", () => { line.tries = 0; retry(); });

const typing = document.querySelector("#typing");
typing.addEventListener("click", () => {
  const on = typing.getAttribute("aria-pressed") !== "true";
  typing.setAttribute("aria-pressed", on);
  typed().setAttribute("inputmode", on ? "text" : "none");
  typed().blur();
  typed().focus();
});
