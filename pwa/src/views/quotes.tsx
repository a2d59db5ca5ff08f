/** The quotes of this device, each with its state in words, and one of them in full. */
import { Totals } from "../elements/totals.tsx";
import type { KeptQuote } from "../local/store.ts";
import { keep, list, lists, quotes, reachable, send } from "../state/state.ts";
import { dayWords, moneyWords, standingWords } from "../texts/en.ts";

const SHOWN = 100;

const currencyOf = (quote: KeptQuote): string => {
  const pinned = lists.value.find((one) => one.sent.number === quote.request.list_number);
  const channel = pinned?.sent.channels.find((one) => one.name === quote.request.channel);
  return channel?.currency ?? list.value?.sent.channels[0]?.currency ?? "GBP";
};

function State({ quote }: { quote: KeptQuote }) {
  return (
    <span class={`state ${quote.standing.replace(" ", "-")}`}>{standingWords[quote.standing]}</span>
  );
}

export function Quotes() {
  return (
    <main>
      <h1>Quotes</h1>
      <ul class="rows">
        {quotes.value.slice(0, SHOWN).map((quote) => (
          <li key={quote.quote}>
            <a class="row" href={`/quotes/${quote.quote}`}>
              <span class="named">
                <b>{quote.number ?? quote.provisional}</b> {quote.request.customer ?? ""}
                <small>
                  {dayWords(quote.request.date)} · {quote.request.lines.length}{" "}
                  {quote.request.lines.length === 1 ? "line" : "lines"} · {quote.author}
                </small>
              </span>
              <State quote={quote} />
              <span class="price">{moneyWords(quote.worked.payable, currencyOf(quote))}</span>
            </a>
          </li>
        ))}
      </ul>
      {quotes.value.length > SHOWN && (
        <p class="said">{quotes.value.length - SHOWN} older ones are kept</p>
      )}
      {!quotes.value.length && <p class="empty">No quotes on this device yet.</p>}
    </main>
  );
}

const again = async (quote: KeptQuote): Promise<void> => {
  await keep({ ...quote, standing: "waiting", why: null });
  await send();
};

export function OneQuote({ id }: { id: string }) {
  const quote = quotes.value.find((one) => one.quote === id);
  if (!quote)
    return (
      <main>
        <p class="said">This quote is not on this device.</p>
      </main>
    );
  const currency = currencyOf(quote);
  const current = list.value?.sent.number;
  return (
    <main>
      <h1>
        {quote.number ?? quote.provisional} <State quote={quote} />
      </h1>
      {!quote.number && <p class="said">This number holds until the quote is sent.</p>}
      {quote.number && <p class="said">first written as {quote.provisional}</p>}
      {quote.why && (
        <div class="why" role="alert">
          <p>{quote.why}</p>
          <button type="button" onClick={() => void again(quote)}>
            Try again
          </button>
        </div>
      )}
      <p>
        {quote.request.customer && <b>{quote.request.customer} · </b>}
        {dayWords(quote.request.date)} · {quote.request.channel} · quoted from list{" "}
        {quote.request.list_number}
        {current && current !== quote.request.list_number && `, current list ${current}`}
      </p>
      <ul class="rows">
        {quote.request.lines.map((line, at) => {
          const worked = quote.worked.lines[at];
          return (
            <li key={`${line.piece}-${line.finish}-${worked?.line_net}`} class="row">
              <span class="named">
                <b>
                  {line.quantity} × {line.piece}
                </b>{" "}
                {list.value?.byNumber.get(line.piece)?.name}, {line.finish}
                <small>{worked && moneyWords(worked.unit_net, currency)} each</small>
              </span>
              <span class="price">{worked && moneyWords(worked.line_net, currency)}</span>
            </li>
          );
        })}
      </ul>
      <Totals worked={quote.worked} currency={currency} />
      <p class="acts">
        {quote.number && reachable.value ? (
          <a class="main" href={`/api/v1/quotes/${quote.quote}/pdf`} target="_blank" rel="noopener">
            Open the PDF
          </a>
        ) : (
          <span class="said">The PDF can be opened when the quote is sent.</span>
        )}
        <button type="button" onClick={() => print()}>
          Print this page
        </button>
      </p>
    </main>
  );
}
