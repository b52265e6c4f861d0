"use strict";
(() => {
  const main = document.getElementById("story");
  const count = Number(main.dataset.count);
  const parts = [...document.querySelectorAll(".s")].map((node) => [node, node.dataset.step.split(" ").map(Number)]);
  const slider = document.getElementById("slider");
  const back = document.getElementById("back");
  const next = document.getElementById("next");
  const where = document.getElementById("where");
  const titles = [...document.querySelectorAll(".head h2")].map((node) => node.textContent.trim().replace(/\s+/g, " "));
  let now = 0;

  function show(step) {
    now = Math.max(0, Math.min(count - 1, step));
    for (const [node, steps] of parts) node.classList.toggle("on", steps.includes(now));
    slider.value = String(now);
    back.disabled = now === 0;
    next.disabled = now === count - 1;
    where.textContent = `${now + 1} of ${count}: ${titles[now]}`;
    history.replaceState(null, "", "#" + (now + 1));
  }

  document.documentElement.classList.add("js");
  document.querySelector(".bar").hidden = false;
  back.addEventListener("click", () => show(now - 1));
  next.addEventListener("click", () => show(now + 1));
  slider.addEventListener("input", () => show(Number(slider.value)));
  window.addEventListener("hashchange", () => show(Number(location.hash.slice(1)) - 1));
  document.addEventListener("keydown", (event) => {
    if (event.target === slider || event.altKey || event.ctrlKey || event.metaKey) return;
    const moves = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: count - 1 };
    if (event.key in moves) { event.preventDefault(); show(moves[event.key]); }
  });
  show(location.hash ? Number(location.hash.slice(1)) - 1 || 0 : 0);
})();
