// What every page of a lot does: shows its clocks, sends what waits, asks what needs a person, keeps the lot for use without network.
import { lot } from "./page.js";
import { send, show } from "./queue.js";
import "./clocks.js";
import "./decide.js";

async function stay() {
  if (!("serviceWorker" in navigator)) return;
  navigator.serviceWorker.addEventListener("message", (event) => {
    if (event.data?.kept === lot) document.documentElement.dataset.offline = "ready";
  });
  await navigator.serviceWorker.register("/sw.js");
  const worker = await navigator.serviceWorker.ready;
  if (lot && navigator.onLine) worker.active.postMessage({ keep: lot });
}

stay().catch(() => {});
show().then(send);
