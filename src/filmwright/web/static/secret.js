// A secret can be shown while it is typed, and a new one is told how good it is. Without script the fields work as they are.
import { token } from "./page.js";

const PAUSE = 400;

function showable(field) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "choice show";
  const say = (shown) => {
    field.type = shown ? "text" : "password";
    button.textContent = shown ? "Hide" : "Show";
    button.setAttribute("aria-pressed", String(shown));
    button.setAttribute("aria-label", `${shown ? "Hide" : "Show"}: ${field.labels[0].textContent}`);
  };
  say(false);
  button.addEventListener("click", () => {
    say(field.type === "password");
    field.focus();
  });
  // Sent as a secret, so that no browser keeps it among the words that it offers next time.
  field.form?.addEventListener("submit", () => say(false));
  field.after(button);
}

function judged(field) {
  const said = document.createElement("p");
  said.className = "judged";
  said.id = `${field.id}-judged`;
  said.setAttribute("role", "status");
  field.closest(".field").append(said);
  field.setAttribute("aria-describedby", [field.getAttribute("aria-describedby"), said.id].filter(Boolean).join(" "));
  let timer, asked = 0;
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      const mine = ++asked;
      if (!field.value) return void (said.textContent = "");
      const answer = await fetch("/password-words", {
        method: "POST",
        headers: { accept: "application/json", "content-type": "application/json", "x-form-token": token },
        body: JSON.stringify({ password: field.value, link: field.dataset.judged }),
      }).catch(() => null);
      // Words about an older version of it must not stand beside the newest one.
      if (!answer?.ok || mine !== asked) return;
      const told = await answer.json();
      said.textContent = told.said;
      said.dataset.taken = told.taken ? "yes" : "no";
    }, PAUSE);
  });
}

document.querySelectorAll("input[data-secret]").forEach(showable);
document.querySelectorAll("input[data-judged]").forEach(judged);
