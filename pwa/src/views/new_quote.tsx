/** A quote in the making: three letters and one tap to a priced line, finish, quantity, total, save. */
import { useState } from "preact/hooks";
import { PieceDrawing } from "../elements/drawing.tsx";
import { Totals } from "../elements/totals.tsx";
import { amount, fixed } from "../pricing/amounts.ts";
import { type AskedLine, type Piece, search, singlePrice } from "../pricing/catalogue.ts";
import * as draft from "../state/draft.ts";
import { go } from "../state/place.ts";
import { dealers, keys, list } from "../state/state.ts";
import { moneyWords, words } from "../texts/en.ts";

const SHOWN = 24;

function Found({ piece, onPick }: { piece: Piece; onPick: () => void }) {
  const channel = draft.chosenChannel.value;
  const made = piece.finishes.find((one) => channel && one.offers[channel.name] != null);
  const price = made && channel ? singlePrice(made, channel.name) : null;
  return (
    <li>
      <button type="button" class="found" onClick={onPick} disabled={!price}>
        <PieceDrawing number={piece.number} />
        <span class="named">
          <b>{piece.number}</b> {piece.name}
          <small>
            {made?.standing !== "current" && made?.standing}
            {piece.unit !== "each" && ` price per ${piece.unit}`}
          </small>
        </span>
        <span class="price">
          {price && channel
            ? moneyWords(fixed(amount(price), channel.minor_unit), channel.currency)
            : "–"}
        </span>
      </button>
    </li>
  );
}

function Quantity({ line, at }: { line: AskedLine; at: number }) {
  const typed = draft.unread.value.get(at);
  return (
    <div class="quantity">
      <button type="button" aria-label="one less" onClick={() => draft.count(at, -1)}>
        −
      </button>
      <input
        type="text"
        inputmode="numeric"
        aria-label={`quantity of ${line.piece}`}
        aria-invalid={typed !== undefined}
        aria-describedby={typed === undefined ? undefined : `refused-${at}`}
        value={typed ?? String(line.quantity)}
        onInput={(event) => draft.typeQuantity(at, event.currentTarget.value)}
      />
      <button type="button" aria-label="one more" onClick={() => draft.count(at, 1)}>
        +
      </button>
    </div>
  );
}

/** What is wrong with a quantity as it stands in its field, and what is allowed. */
function Refused({ at }: { at: number }) {
  const typed = draft.unread.value.get(at);
  if (typed === undefined) return null;
  return (
    <p class="why" role="alert" id={`refused-${at}`}>
      {typed.trim() ? `“${typed.trim()}” is no quantity` : "The quantity is empty"}: a whole number
      from 1 to {draft.MOST_OF_ONE}
    </p>
  );
}

function DraftLine({ line, at }: { line: AskedLine; at: number }) {
  const piece = list.value?.byNumber.get(line.piece);
  const channel = draft.chosenChannel.value;
  const done = draft.worked.value;
  const worked = done && "quote" in done ? done.quote.lines[at] : undefined;
  const notices = done && "quote" in done ? done.quote.notices.filter((n) => n.line === at) : [];
  return (
    <li class="line">
      <div class="line-head">
        <PieceDrawing number={line.piece} />
        <span class="named">
          <b>{line.piece}</b> {piece?.name}
        </span>
        <button
          type="button"
          class="away"
          aria-label={`take ${line.piece} away`}
          onClick={() => draft.remove(at)}
        >
          ×
        </button>
      </div>
      <div class="line-body">
        <fieldset class="finish">
          <legend class="unseen">finish of {line.piece}</legend>
          {piece?.finishes.map((made) => (
            <label key={made.finish} class={made.finish === line.finish ? "chosen" : ""}>
              <input
                type="radio"
                name={`finish-${at}`}
                checked={made.finish === line.finish}
                disabled={!channel || made.offers[channel.name] == null}
                onChange={() => draft.change(at, { finish: made.finish })}
              />
              {made.finish}
            </label>
          ))}
        </fieldset>
        <Quantity line={line} at={at} />
        <span class="line-price">
          {worked && channel && !draft.unread.value.has(at) && (
            <>
              <small>{moneyWords(worked.unit_net, channel.currency)}</small>
              <b>{moneyWords(worked.line_net, channel.currency)}</b>
            </>
          )}
        </span>
      </div>
      <Refused at={at} />
      {notices.map((notice) => (
        <p key={notice.code} class="said">
          {noticeWords(notice.code, notice.facts)}
        </p>
      ))}
    </li>
  );
}

function noticeWords(code: string, facts: readonly string[]): string {
  if (code === "more would cost less") return `${facts[0]} would cost less: ${facts[1]}`;
  if (code === "not a whole pack") return `sold in packs of ${facts[0]}`;
  if (code === "under least quantity") return `at least ${facts[0]}`;
  return code;
}

function Undo() {
  const gone = draft.removed.value;
  if (!gone) return null;
  return (
    <p class="undo" role="status">
      {gone.line.piece} taken away{" "}
      <button type="button" onClick={draft.putBack}>
        Put back
      </button>
    </p>
  );
}

export function NewQuote() {
  const [text, setText] = useState("");
  const on = list.value;
  if (!on)
    return (
      <main>
        <p class="said">No price list on this device yet: it comes with the first signal.</p>
      </main>
    );
  const hits = search(on, keys.value, text);
  const pick = (piece: Piece): void => {
    draft.add(piece);
    setText("");
  };
  const done = draft.worked.value;
  const channel = draft.chosenChannel.value;
  const save = async (): Promise<void> => {
    const kept = await draft.save();
    if (kept) go(`/quotes/${kept.quote}`);
  };
  return (
    <main>
      <h1 class="unseen">{words.quote}</h1>
      {/* biome-ignore lint/a11y/useSemanticElements: browsers before 2023 do not know the search element */}
      <form
        role="search"
        onSubmit={(event) => {
          event.preventDefault();
          if (hits[0]) pick(hits[0]);
        }}
      >
        <input
          type="search"
          class="find"
          placeholder={words.find}
          aria-label={words.find}
          autocomplete="off"
          value={text}
          onInput={(event) => setText(event.currentTarget.value)}
        />
      </form>
      {text.trim() && (
        <ul class="hits" aria-label="pieces found">
          {hits.slice(0, SHOWN).map((piece) => (
            <Found key={piece.number} piece={piece} onPick={() => pick(piece)} />
          ))}
          {hits.length > SHOWN && <li class="said">{hits.length - SHOWN} more: go on typing</li>}
          {!hits.length && <li class="said">nothing found</li>}
        </ul>
      )}
      {on.sent.channels.length > 1 && (
        <label class="field">
          {words.priceClass}
          <select
            value={channel?.name}
            onChange={(event) => {
              draft.channel.value = event.currentTarget.value;
              void draft.remember();
            }}
          >
            {on.sent.channels.map((one) => (
              <option key={one.name}>{one.name}</option>
            ))}
          </select>
        </label>
      )}
      {dealers.value.length > 0 && (
        <label class="field">
          {words.dealer}
          <select
            value={draft.dealer.value}
            onChange={(event) =>
              draft.quoteDealer(
                dealers.value.find((one) => one.number === event.currentTarget.value),
              )
            }
          >
            <option value="">none</option>
            {dealers.value.map((one) => (
              <option key={one.number} value={one.number}>
                {one.name}, {one.channel}
              </option>
            ))}
          </select>
        </label>
      )}
      <ul class="lines">
        {draft.lines.value.map((line, at) => (
          <DraftLine key={`${line.piece}-${at}`} line={line} at={at} />
        ))}
      </ul>
      <Undo />
      {!draft.lines.value.length && !text.trim() && (
        <p class="empty">Find a piece by its number or name to begin a quote.</p>
      )}
      {done && "why" in done && (
        <p class="why" role="alert">
          {done.why}
        </p>
      )}
      {done && "quote" in done && channel && (
        <section aria-label="totals">
          <label class="field">
            {words.customer}
            <input
              value={draft.customer.value}
              autocomplete="off"
              onInput={(event) => {
                draft.customer.value = event.currentTarget.value;
                void draft.remember();
              }}
            />
          </label>
          {draft.unread.value.size ? (
            <p class="why">No total while a quantity cannot be read.</p>
          ) : (
            <Totals worked={done.quote} currency={channel.currency} />
          )}
          <button type="button" class="main" onClick={save} disabled={draft.unread.value.size > 0}>
            {words.save}
          </button>
        </section>
      )}
    </main>
  );
}
