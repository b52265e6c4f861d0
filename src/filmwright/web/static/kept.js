// On every page: what waits on this device is told in the head, asked about where a person must decide, and sent.
import { who } from "./page.js";
import { send, show } from "./queue.js";
import "./decide.js";

// Where people sign in nothing is sent before somebody has.
show().then(() => (who || !("shared" in document.documentElement.dataset)) && send());
