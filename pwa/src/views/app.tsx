/** The frame: what is always in sight, the way between screens, and the screen itself. */
import { link, place } from "../state/place.ts";
import {
  list,
  loaded,
  mustSignIn,
  needing,
  newVersion,
  reachable,
  signOut,
  waiting,
  who,
} from "../state/state.ts";
import { words } from "../texts/en.ts";
import { CostSheet, Costs } from "./costs.tsx";
import { Lists } from "./lists.tsx";
import { NewQuote } from "./new_quote.tsx";
import { OneQuote, Quotes } from "./quotes.tsx";
import { SignIn } from "./sign_in.tsx";

function Standing() {
  const channel = list.value?.sent.channels.find((one) => one.kind === "retail");
  const parts = [
    reachable.value ? "on line" : "no signal",
    waiting.value ? `${waiting.value} ${words.waitingToSend}` : "all sent",
    ...(needing.value ? [`${needing.value} ${needing.value === 1 ? "needs" : "need"} you`] : []),
    ...(list.value ? [`list ${list.value.sent.number}`] : []),
    ...(channel ? [channel.tax_inclusive ? "prices with tax" : "prices without tax"] : []),
  ];
  return (
    <p class="standing" role="status">
      {parts.join(" · ")}
    </p>
  );
}

function Ways() {
  const pricing = who.value?.role !== "counter";
  const ways: [string, string][] = [
    ["/", words.quote],
    ["/quotes", words.quotes],
    ...(pricing
      ? ([
          ["/costs", words.pieces],
          ["/lists", words.lists],
        ] as [string, string][])
      : []),
  ];
  const here = (path: string): boolean =>
    path === "/" ? place.value === "/" : place.value.startsWith(path);
  return (
    <nav aria-label="screens">
      {ways.map(([path, name]) => (
        <a key={path} href={path} aria-current={here(path) ? "page" : undefined}>
          {name}
        </a>
      ))}
    </nav>
  );
}

function Screen() {
  const [, first, second, third] = place.value.split("/").map(decodeURIComponent);
  if (first === "quotes") return second ? <OneQuote id={second} /> : <Quotes />;
  if (first === "costs")
    return second && third ? <CostSheet number={second} finish={third} /> : <Costs />;
  if (first === "lists") return <Lists />;
  return <NewQuote />;
}

function NewVersion() {
  const worker = newVersion.value;
  if (!worker) return null;
  return (
    <button type="button" class="new-version" onClick={() => worker.postMessage("take over")}>
      A new version is ready: tap to use it
    </button>
  );
}

export function App() {
  if (!loaded.value) return null;
  if (!who.value || mustSignIn.value) return <SignIn />;
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: it listens for the links within, which keys reach by themselves
    // biome-ignore lint/a11y/useKeyWithClickEvents: a link followed by key is a click
    <div class="frame" onClick={link}>
      <header>
        <Standing />
        <button type="button" class="quiet" onClick={() => void signOut()}>
          {words.signOut} {who.value.name}
        </button>
      </header>
      <NewVersion />
      <Screen />
      <Ways />
    </div>
  );
}
