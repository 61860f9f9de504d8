// Around the library's terminal: where its socket is, its font before its first letter, and keys
// for hands without a keyboard.
"use strict";

const terminal = document.querySelector("#terminal");
const scheme = location.protocol === "https:" ? "wss:" : "ws:";
terminal.dataset.sessionWebsocketUrl = `${scheme}//${location.host}/ws`;

const start = window.onload;
window.onload = async (event) => {
  const size = `${terminal.dataset.fontSize}px`;
  const faces = ["", "bold ", "italic "].map((style) =>
    document.fonts.load(`${style}${size} 'Roboto Mono'`));
  await Promise.allSettled(faces);
  start(event);
  const field = typed();
  if (matchMedia("(pointer: coarse)").matches) field.setAttribute("inputmode", "none");
  focused(field);
};

function focused(field) {
  // Only once the socket is open: the library speaks into it at once.
  new MutationObserver((_, watch) => {
    if (!document.body.classList.contains("-first-byte")) return;
    watch.disconnect();
    field.focus();
  }).observe(document.body, { attributes: true, attributeFilter: ["class"] });
}

const typed = () => terminal.querySelector("textarea");

const CODES = { Tab: 9, Enter: 13, Escape: 27, ArrowLeft: 37, ArrowUp: 38, ArrowRight: 39, ArrowDown: 40 };

function press(name) {
  const key = { key: name, code: name, keyCode: CODES[name], which: CODES[name], bubbles: true, cancelable: true };
  typed().dispatchEvent(new KeyboardEvent("keydown", key));
  typed().dispatchEvent(new KeyboardEvent("keyup", key));
}

function type(text) {
  const input = { data: text, inputType: "insertText", bubbles: true, composed: false };
  typed().dispatchEvent(new InputEvent("input", input));
}

const NAMED = { Enter: "Enter", Esc: "Escape", Tab: "Tab", "←": "ArrowLeft", "→": "ArrowRight" };

for (const button of document.querySelectorAll("#touch button")) {
  button.addEventListener("pointerdown", (event) => event.preventDefault());
  button.addEventListener("click", () => {
    const { key, press: named } = button.dataset;
    if (named || NAMED[key]) press(named || NAMED[key]);
    else if (key) type(key);
  });
}

function letters(by) {
  const where = new URL(location.href);
  where.searchParams.set("fontsize", Number(terminal.dataset.fontSize) + by);
  location.replace(where);
}
document.querySelector("#smaller").addEventListener("click", () => letters(-2));
document.querySelector("#larger").addEventListener("click", () => letters(2));
document.querySelector("#again").addEventListener("click", () => location.reload());

const typing = document.querySelector("#typing");
typing.addEventListener("click", () => {
  const on = typing.getAttribute("aria-pressed") !== "true";
  typing.setAttribute("aria-pressed", on);
  typed().setAttribute("inputmode", on ? "text" : "none");
  typed().blur();
  typed().focus();
});

// A finger that moves turns the wheel, a finger that taps clicks.
let last = null;
terminal.addEventListener("touchstart", (event) => { last = event.touches[0].clientY; });
terminal.addEventListener("touchmove", (event) => {
  const { clientX, clientY } = event.touches[0];
  const wheel = { deltaY: last - clientY, clientX, clientY, bubbles: true, cancelable: true };
  last = clientY;
  terminal.querySelector(".xterm-screen")?.dispatchEvent(new WheelEvent("wheel", wheel));
  event.preventDefault();
}, { passive: false });
