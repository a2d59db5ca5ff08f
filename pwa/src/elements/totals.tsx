/** The totals of a quote, large, with its tax in words. */
import type { WorkedQuote } from "../pricing/quote.ts";
import { moneyWords } from "../texts/en.ts";

export function Totals({ worked, currency }: { worked: WorkedQuote; currency: string }) {
  const rows: [string, string][] = [["Goods", worked.goods]];
  if (Number(worked.order_discount) !== 0)
    rows.push(["Order discount", `-${worked.order_discount}`]);
  if (Number(worked.small_order_charge) !== 0)
    rows.push(["Small-order charge", worked.small_order_charge]);
  if (Number(worked.carriage) !== 0) rows.push(["Carriage", worked.carriage]);
  for (const tax of worked.taxes)
    rows.push([`${worked.tax_included ? "of which" : "plus"} ${tax.name}`, tax.tax]);
  return (
    <dl class="totals">
      {rows.map(([name, amount]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{moneyWords(amount, currency)}</dd>
        </div>
      ))}
      <div class="grand">
        <dt>{worked.tax_included ? "Total, tax included" : "Total with tax"}</dt>
        <dd>{moneyWords(worked.payable, currency)}</dd>
      </div>
    </dl>
  );
}
