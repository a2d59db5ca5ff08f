/** For pricing: every piece with its works cost, and one piece's cost sheet with a bar of what it is made of. */
import { useEffect, useState } from "preact/hooks";
import { PieceDrawing } from "../elements/drawing.tsx";
import { ask, detailOf } from "../sync/server.ts";

interface Row {
  number: string;
  finish: string;
  name: string;
  works_cost: string;
  stated: boolean;
  prices: Record<string, { price: string; margin: string }>;
}

interface Node {
  words: string;
  amount: string;
  quantity?: string;
  unit?: string;
  rate?: string;
  source?: string;
  date?: string | null;
  children?: Node[];
}

interface Price {
  channel: string;
  quantity: number;
  price: string;
  rule: string;
  one_line: string;
  reason: string[];
}

interface Sheet {
  sheet: {
    piece: string;
    name: string;
    finish: string;
    batch: number;
    unit: string;
    currency: string;
    works_cost: string;
    exact: string;
    rounding: string;
    finished_g: string;
    tin_sensitivity: string;
    shares: Record<string, string>;
    tree: Node;
    minutes: { stage: string | null; minutes: string }[];
  };
  prices: Price[];
}

function useAnswer<T>(path: string): { data: T | null; why: string | null } {
  const [state, setState] = useState<{ data: T | null; why: string | null }>({
    data: null,
    why: null,
  });
  useEffect(() => {
    let wanted = true;
    void ask("GET", path).then((answer) => {
      if (!wanted) return;
      if (answer?.status === 200) setState({ data: answer.data as T, why: null });
      else
        setState({
          data: null,
          why: answer ? detailOf(answer.data) : "Costs stay with the server: they need a signal.",
        });
    });
    return () => {
      wanted = false;
    };
  }, [path]);
  return state;
}

const SHOWN = 60;

/** A figure at two places for reading; the sheet below keeps every digit. */
const short = (amount: string, places = 2): string => Number(amount).toFixed(places);
const percent = (share: string): string => `${(Number(share) * 100).toFixed(1)} %`;

export function Costs() {
  const { data, why } = useAnswer<{ pieces: Row[] }>("/pieces");
  const [text, setText] = useState("");
  if (!data) return <main>{why ? <p class="why">{why}</p> : <p class="said">working …</p>}</main>;
  const wanted = text.toLowerCase();
  const rows = data.pieces.filter((row) =>
    `${row.number} ${row.name} ${row.finish}`.toLowerCase().includes(wanted),
  );
  const classes = Object.keys(data.pieces[0]?.prices ?? {});
  return (
    <main class="wide">
      <h1>Works costs and prices</h1>
      <input
        type="search"
        class="find"
        placeholder="Number or name"
        aria-label="Number or name"
        value={text}
        onInput={(event) => setText(event.currentTarget.value)}
      />
      <div class="scroll">
        <table class="costs">
          <thead>
            <tr>
              <th scope="col">Piece</th>
              <th scope="col">Works cost</th>
              {classes.map((name) => (
                <th scope="col" key={name}>
                  {name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.slice(0, SHOWN).map((row) => (
              <tr key={row.number + row.finish}>
                <th scope="row">
                  <a href={`/costs/${row.number}/${row.finish}`}>
                    {row.number} {row.name}
                    <small>
                      {row.finish}
                      {row.stated && " · cost stated, not worked"}
                    </small>
                  </a>
                </th>
                <td>{short(row.works_cost)}</td>
                {classes.map((name) => {
                  const price = row.prices[name];
                  return (
                    <td key={name}>
                      {price ? short(price.price) : "–"}
                      <small>{price && percent(price.margin)}</small>
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {rows.length > SHOWN && <p class="said">{rows.length - SHOWN} more: go on typing</p>}
    </main>
  );
}

const PARTS = ["metal", "labour", "finish", "overhead", "other"] as const;

function Bar({ shares, total }: { shares: Record<string, string>; total: string }) {
  return (
    <figure class="bar-figure">
      <svg class="bar" viewBox="0 0 1000 60" preserveAspectRatio="none" aria-hidden="true">
        {PARTS.map((part, place) => {
          const before = PARTS.slice(0, place).reduce((x, p) => x + Number(shares[p] ?? 0), 0);
          const scale = 1000 / Number(total);
          return (
            <rect
              key={part}
              class={`part-${part}`}
              x={before * scale}
              y="0"
              width={Math.max(0, Number(shares[part] ?? 0) * scale - 2)}
              height="60"
            />
          );
        })}
      </svg>
      <figcaption>
        {PARTS.map((part) => (
          <span key={part} class={`key part-${part}`}>
            {part} {short(shares[part] ?? "0")} (
            {percent(String(Number(shares[part] ?? 0) / Number(total)))})
          </span>
        ))}
      </figcaption>
    </figure>
  );
}

function Branch({ node, depth }: { node: Node; depth: number }) {
  return (
    <>
      <tr class={node.children ? `branch depth-${depth}` : `depth-${depth}`}>
        <th scope="row">{node.words}</th>
        <td>
          {node.quantity !== undefined &&
            `${short(node.quantity, 4)} ${node.unit} × ${short(node.rate ?? "0", 4)}`}
          <small>{node.source}</small>
        </td>
        <td title={node.amount}>{short(node.amount, 4)}</td>
      </tr>
      {node.children?.map((child) => (
        <Branch key={child.words + child.amount} node={child} depth={depth + 1} />
      ))}
    </>
  );
}

export function CostSheet({ number, finish }: { number: string; finish: string }) {
  const { data, why } = useAnswer<Sheet>(
    `/pieces/${number}/cost-sheet?finish=${encodeURIComponent(finish)}`,
  );
  if (!data) return <main>{why ? <p class="why">{why}</p> : <p class="said">working …</p>}</main>;
  const { sheet, prices } = data;
  return (
    <main class="wide">
      <div class="sheet-head">
        <PieceDrawing number={sheet.piece} />
        <div>
          <h1>
            {sheet.piece} {sheet.name}
          </h1>
          <p>
            {sheet.finish}, {sheet.unit}, batch of {sheet.batch}
          </p>
        </div>
        <p class="figure-large">
          <small>works cost, {sheet.currency}</small>
          {short(sheet.works_cost)}
        </p>
      </div>
      <Bar shares={sheet.shares} total={sheet.exact} />
      <p class="said">
        Finished weight {short(sheet.finished_g, 0)} g. A pound on tin is{" "}
        {short(sheet.tin_sensitivity)} on this piece.
      </p>
      <h2>Prices and their reasons</h2>
      <ul class="reasons">
        {prices.map((price) => (
          <li key={price.channel + price.quantity}>
            <details>
              <summary>
                <b>{price.channel}</b>
                {price.quantity > 1 && ` from ${price.quantity}`} <b>{short(price.price)}</b>{" "}
                <small>{price.one_line}</small>
              </summary>
              <ol>
                {price.reason.map((said) => (
                  <li key={said}>{said}</li>
                ))}
              </ol>
            </details>
          </li>
        ))}
      </ul>
      <h2>Cost sheet</h2>
      <table class="sheet">
        <tbody>
          {sheet.tree.children?.map((node) => (
            <Branch key={node.words} node={node} depth={0} />
          ))}
          <tr class="branch">
            <th scope="row">Works cost</th>
            <td />
            <td>{sheet.works_cost}</td>
          </tr>
        </tbody>
      </table>
      <p class="said">
        To the last digit: {sheet.exact} + {sheet.rounding} = {sheet.works_cost}
      </p>
    </main>
  );
}
