// What measured files tell is fetched part after part as it is worked out; a parameter or a device is looked at without a button.
const told = document.getElementById("told");
const PAUSE = 300;
const LATER = 3000;

const read = async (answer) => new DOMParser().parseFromString(await answer.text(), "text/html").body;

function say(words) {
  const place = told.querySelector("#doing") || told.querySelector("[role=status]");
  if (place) place.textContent = words;
}

// A reader who writes in a form of this part is not disturbed; it comes a little later.
function writing() {
  return told.contains(document.activeElement) && document.activeElement.matches("input, textarea, select");
}

function put(parts) {
  const open = new Set([...told.querySelectorAll("details[open] > summary")].map((each) => each.textContent));
  told.replaceChildren(...parts);
  for (const each of told.querySelectorAll("details > summary")) {
    if (open.has(each.textContent)) each.parentElement.open = true;
  }
}

async function fetchTold(inventing) {
  const done = Number(told.querySelector("#worked-out")?.dataset.done || 0);
  const chosen = new URLSearchParams(location.search);
  chosen.set("done", done);
  let answer;
  try {
    answer = await fetch(`${told.dataset.told}?${chosen}`);
  } catch {
    // Without network the page stays as it is and asks again.
    setTimeout(fetchTold, LATER, inventing);
    return;
  }
  if (answer.status === 202) {
    const { what, working, drawing } = await answer.json();
    if (inventing && !drawing) return location.reload();
    if (!working) return location.reload();
    say(what);
    setTimeout(fetchTold, PAUSE, drawing);
    return;
  }
  if (answer.status !== 200) {
    say("What the files tell could not be worked out; the files themselves are kept.");
    return;
  }
  if (inventing) return location.reload();
  const parts = await read(answer);
  while (writing()) await new Promise((go) => setTimeout(go, LATER));
  put(parts.childNodes);
  if (told.querySelector("#worked-out")) fetchTold(false);
}

if (told?.dataset.told) fetchTold(false);

// The figures of another parameter or device; the address keeps what is looked at, so that a reload shows it again.
let asked = 0;
async function explore(of, device, held) {
  const chosen = new URLSearchParams({ of, device });
  const mine = ++asked;
  const answer = await fetch(`${document.getElementById("explorer").dataset.part}?${chosen}`);
  if (answer.status !== 200 || mine !== asked) return;
  const parts = await read(answer);
  document.getElementById("explorer").replaceWith(parts.querySelector("#explorer"));
  history.replaceState(null, "", `?${chosen}`);
  if (held) document.getElementById(held)?.focus({ preventScroll: true });
  else if (device) document.querySelector(".of-device")?.scrollIntoView({ block: "nearest" });
}

document.addEventListener("change", (event) => {
  if (!event.target.matches("#of, #one-device")) return;
  const form = event.target.form;
  explore(form.elements.of.value, form.elements.device.value, event.target.id);
});

// A touch anywhere in a figure takes the device that is nearest to it.
document.addEventListener("click", (event) => {
  const figure = event.target.closest?.("svg.touched");
  const form = figure && document.querySelector("#explorer form");
  if (!form) return;
  const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(figure.getScreenCTM().inverse());
  let near = null;
  let best = Infinity;
  for (const each of figure.querySelectorAll("[data-device]")) {
    const far = Math.hypot(each.dataset.x - place.x, each.dataset.y - place.y);
    if (far < best) [near, best] = [each.dataset.device, far];
  }
  if (near) explore(form.elements.of.value, near, "");
});
