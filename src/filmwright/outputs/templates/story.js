"use strict";
const story = (() => {
  const facts = JSON.parse(document.getElementById("facts").textContent);
  const count = facts.steps.length;
  const by = (id) => document.getElementById(id);
  const parts = [...document.querySelectorAll(".s")].map((node) => [node, node.dataset.step.split(" ").map(Number)]);
  const slider = by("slider"), back = by("back"), next = by("next"), where = by("where"), play = by("play");
  const name = (step) => `${facts.steps[step].number} ${facts.steps[step].title}`;
  const listeners = [];
  let now = 0, place = "", timer = 0;

  // #step=12 or #step=4.1, and &at=x,y in µm: a step, and a place on the die, can be linked.
  function read() {
    const words = new URLSearchParams(location.hash.slice(1).replace(/^(?=\d)/, "step="));
    const asked = words.get("step") || "1";
    const named = facts.steps.findIndex((step) => step.number === asked);
    place = words.get("at") || "";
    show(asked.includes(".") ? named : Number(asked) - 1 || 0);
  }

  function show(step) {
    now = Math.max(0, Math.min(count - 1, step));
    for (const [node, steps] of parts) node.classList.toggle("on", steps.includes(now));
    slider.value = String(now);
    slider.setAttribute("aria-valuetext", `${now + 1} of ${count}: ${name(now)}`);
    back.disabled = now === 0;
    next.disabled = now === count - 1;
    where.textContent = `${now + 1} of ${count}: ${name(now)}`;
    const hash = `#step=${now + 1}${place ? `&at=${place}` : ""}`;
    if (location.hash !== hash) history.replaceState(null, "", hash);
    for (const each of listeners) each(now, place);
  }

  function at(text) { place = text; show(now); }

  function stop() {
    clearTimeout(timer);
    timer = 0;
    document.documentElement.classList.remove("playing");
    play.setAttribute("aria-pressed", "false");
    play.innerHTML = "&#9654; play";
  }

  function wait() {
    timer = setTimeout(() => {
      show(now + 1);
      if (now === count - 1) stop(); else wait();
    }, 1000 * facts.steps[now].seconds / Number(by("pace").value));
  }

  function start() {
    document.documentElement.classList.add("playing");
    play.setAttribute("aria-pressed", "true");
    play.innerHTML = "&#10073;&#10073; pause";
    if (now === count - 1) show(0);
    wait();
  }

  function move(step) { stop(); show(step); }

  document.documentElement.classList.add("js");
  for (const node of document.querySelectorAll(".bar, .tools, .hint")) node.hidden = false;
  back.addEventListener("click", () => move(now - 1));
  next.addEventListener("click", () => move(now + 1));
  play.addEventListener("click", () => (timer ? stop() : start()));
  slider.addEventListener("input", () => move(Number(slider.value)));
  window.addEventListener("hashchange", read);
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.target.matches("input, select")) return;
    const moves = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: count - 1 };
    if (event.key in moves) { event.preventDefault(); move(moves[event.key]); }
  });

  // A swipe over the section or the words turns the page; the plan keeps its own gestures.
  let from = null;
  document.addEventListener("touchstart", (event) => {
    const free = event.touches.length === 1 && event.target.closest(".section, .head, article") && !event.target.closest(".scroll");
    from = free ? event.touches[0] : null;
  }, { passive: true });
  document.addEventListener("touchend", (event) => {
    if (!from) return;
    const to = event.changedTouches[0], dx = to.clientX - from.clientX, dy = to.clientY - from.clientY;
    if (Math.abs(dx) > 60 && Math.abs(dx) > 2 * Math.abs(dy)) move(dx < 0 ? now + 1 : now - 1);
    from = null;
  }, { passive: true });

  return { facts, show: move, at, name, listen: (each) => listeners.push(each), begin: read, now: () => now };
})();
