// What every page of a lot does: shows its clocks and keeps the lot for use without network.
import { lot } from "./page.js";
import "./clocks.js";
import "./kept.js";

async function stay() {
  if (!("serviceWorker" in navigator)) return;
  navigator.serviceWorker.addEventListener("message", (event) => {
    if (event.data?.kept === lot) document.documentElement.dataset.offline = "ready";
  });
  await navigator.serviceWorker.register("/sw.js");
  const worker = await navigator.serviceWorker.ready;
  const keep = (near = []) => lot && navigator.onLine && worker.active.postMessage({ keep: lot, near });
  const next = document.querySelector('a[rel="next"]')?.getAttribute("href");
  keep([next, location.search && location.pathname].filter(Boolean));
  // Cautions that were still being worked out must be on the tablet before the network goes.
  setInterval(() => keep(), 30000);
}

stay().catch(() => {});
