// Who signs out leaves nothing behind on the device but what the server does not have yet, and is asked about that first.
import { who } from "./page.js";
import { send, waiting } from "./queue.js";

const OF_A_PERSON = ["who", "kept"];

/** The pages, marks and pictures of the lots go; scripts, styles and the page that says "no network" stay. */
async function forget() {
  for (const each of OF_A_PERSON) localStorage.removeItem(each);
  if (!("caches" in window)) return;
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const kept of await cache.keys()) {
      const { pathname } = new URL(kept.url);
      if (!pathname.startsWith("/static/") && pathname !== "/offline") await cache.delete(kept);
    }
  }
}

async function leave(form) {
  await forget().catch(() => {});
  form.submit();
}

function offer(word, act) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "choice";
  button.textContent = word;
  button.addEventListener("click", act);
  return button;
}

/** Say plainly how much would stay here. */
function ask(form, count) {
  document.querySelector(".leaving")?.remove();
  const box = document.createElement("section"), said = document.createElement("p");
  box.className = "decide leaving";
  box.setAttribute("role", "alert");
  const entries = count === 1 ? "1 entry is" : `${count} entries are`;
  said.textContent = `${entries} on this tablet only, not on the server yet. What is not sent stays here after signing out, until somebody signs in here and sends it.`;
  const again = async () => {
    await send();
    const left = (await waiting()).length;
    if (left) ask(form, left);
    else leave(form);
  };
  box.append(said, offer("Send first, then sign out", again), offer("Sign out, it stays here", () => leave(form)));
  document.getElementById("notices").append(box);
  box.querySelector("button").focus();
}

document.addEventListener(
  "submit",
  async (event) => {
    const form = event.target;
    if (form.getAttribute("action") !== "/sign-out") return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const count = (await waiting().catch(() => [])).length;
    if (count) ask(form, count);
    else leave(form);
  },
  true,
);

// A page that asks who comes, and knows of nobody: also the end of a sign-in that ran out.
if (!who && document.querySelector("[data-nobody]")) forget().catch(() => {});
