// Clocks count from end times that the record keeps, so they survive a reload and a closed tablet. Sight first; sound only when switched on.
import { lot } from "./page.js";
import { waiting } from "./queue.js";

const SOUND = "sound";
let listed = [], rung = new Set(), shownFor = "";

const two = (n) => String(n).padStart(2, "0");

/** What is left, as 4:05 or 1:02:03; what has passed with a plus in front. */
export function left(milliseconds) {
  const past = milliseconds < 0, seconds = Math.abs(past ? Math.floor(milliseconds / 1000) : Math.ceil(milliseconds / 1000));
  const h = Math.floor(seconds / 3600), m = Math.floor(seconds / 60) % 60, s = seconds % 60;
  return (past ? "+" : "") + (h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`);
}

const clock = (when) => `${two(when.getHours())}:${two(when.getMinutes())}:${two(when.getSeconds())}`;

function line(timer) {
  const item = document.createElement("li");
  item.dataset.ends = timer.ends;
  item.dataset.entry = timer.id;
  const link = document.createElement("a");
  link.href = timer.path;
  const name = document.createElement("span"), rest = document.createElement("strong"), end = document.createElement("span");
  name.textContent = [timer.wafer, timer.code, timer.name].filter(Boolean).join(" · ");
  rest.className = "clock-left";
  end.textContent = `until ${clock(new Date(timer.ends))}`;
  link.append(name, rest, end);
  item.append(link);
  return item;
}

async function own() {
  const taps = (await waiting().catch(() => [])).filter((tap) => tap.lot === lot);
  return taps.flatMap((tap) =>
    tap.entries.flatMap((each) => {
      if (each.kind !== "timer") return [];
      const length = Number(each.value) * ({ s: 1, min: 60, h: 3600 }[each.unit] ?? 1) * 1000;
      const path = `/lot/${lot}/step/${tap.code || tap.step}`;
      const ends = new Date(new Date(tap.happened).getTime() + length).toISOString();
      return [{ id: tap.id, name: each.name, code: tap.code, wafer: (tap.wafers || []).join(" "), ends, path }];
    }),
  );
}

async function read() {
  if (!lot) return;
  try {
    const answer = await fetch(`/lot/${lot}/timers`, { headers: { accept: "application/json" } });
    if (answer.ok) listed = (await answer.json()).timers;
  } catch {
    // Without network the clocks that were known go on.
  }
  await draw();
}

async function draw() {
  if (!place) return;
  const known = new Set(listed.map((each) => each.id));
  const all = [...listed, ...(await own()).filter((each) => !known.has(each.id))];
  const key = JSON.stringify(all);
  if (key !== shownFor) {
    shownFor = key;
    place.querySelector("ul").replaceChildren(...all.map(line));
    place.hidden = !all.length;
  }
  tick();
}

function tick() {
  for (const item of document.querySelectorAll("#clocks [data-ends]")) {
    const rest = new Date(item.dataset.ends) - Date.now();
    item.querySelector(".clock-left").textContent = left(rest);
    item.classList.toggle("over", rest <= 0);
    if (rest <= 0 && rest > -5000 && !rung.has(item.dataset.entry)) ring(item);
  }
}

function ring(item) {
  rung.add(item.dataset.entry);
  const said = document.getElementById("clock-said");
  if (said) said.textContent = `Time is up: ${item.querySelector("span").textContent}`;
  if (localStorage.getItem(SOUND) !== "on") return;
  const horn = new AudioContext(), tone = horn.createOscillator(), volume = horn.createGain();
  tone.frequency.value = 880;
  volume.gain.value = 0.2;
  tone.connect(volume).connect(horn.destination);
  tone.start();
  tone.stop(horn.currentTime + 0.6);
  tone.onended = () => horn.close();
}

/** The strip above the content, on every page of the lot; a page may bring it along for those without script. */
function strip() {
  let place = document.getElementById("clocks");
  if (!place) {
    place = document.createElement("aside");
    place.id = "clocks";
    place.setAttribute("aria-label", "Timers of the lot");
    place.append(document.createElement("ul"));
    document.getElementById("main").prepend(place);
  }
  const said = document.createElement("p");
  said.id = "clock-said";
  said.className = "unseen";
  said.setAttribute("role", "status");
  const switched = document.createElement("button");
  switched.type = "button";
  switched.className = "choice sound";
  place.append(said, switched);
  place.hidden = true;
  return [place, switched];
}

const [place, button] = lot ? strip() : [null, null];
function word() {
  const on = localStorage.getItem(SOUND) === "on";
  button.textContent = on ? "Sound is on" : "Sound is off";
  button.setAttribute("aria-pressed", String(on));
}
if (button) {
  word();
  button.addEventListener("click", () => {
    localStorage.setItem(SOUND, localStorage.getItem(SOUND) === "on" ? "off" : "on");
    word();
  });
}
read();
setInterval(tick, 500);
setInterval(read, 30000);
document.addEventListener("taps", draw);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && read());
