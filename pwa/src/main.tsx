/** Opens what the device kept, shows the page, then turns to the server. */
import { render } from "preact";
import { recall } from "./state/draft.ts";
import { keepTrying, openKept, renew } from "./state/state.ts";
import { registerWorker } from "./state/worker.ts";
import "./page.css";
import { App } from "./views/app.tsx";

const root = document.getElementById("page");
if (root) {
  await openKept();
  await recall();
  render(<App />, root);
  void registerWorker();
  void navigator.storage?.persist?.();
  keepTrying();
  await renew();
}
