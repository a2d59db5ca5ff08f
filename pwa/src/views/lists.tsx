/** For pricing: the price lists, a new draft, issuing, and each list's papers. */
import { useCallback, useEffect, useState } from "preact/hooks";
import { list, who } from "../state/state.ts";
import { ask, detailOf } from "../sync/server.ts";
import { dayWords } from "../texts/en.ts";

interface Facts {
  id: string;
  number: string;
  status: string;
  effective: string;
  until: string;
  digest: string;
  made: string;
  made_by: string;
}

const STATUS: Record<string, string> = {
  draft: "draft",
  issued: "issued",
  withdrawn: "withdrawn",
};

export function Lists() {
  const [lists, setLists] = useState<Facts[]>([]);
  const [why, setWhy] = useState<string | null>(null);
  const load = useCallback(async (): Promise<void> => {
    const answer = await ask("GET", "/price-lists");
    if (answer?.status === 200) setLists(answer.data as Facts[]);
    else setWhy(answer ? detailOf(answer.data) : "Lists need a signal.");
  }, []);
  useEffect(() => void load(), [load]);
  const make = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const form = new FormData(event.currentTarget as HTMLFormElement);
    const answer = await ask("POST", "/price-lists", Object.fromEntries(form));
    setWhy(answer?.status === 201 ? null : answer ? detailOf(answer.data) : "No signal.");
    await load();
  };
  const issue = async (facts: Facts): Promise<void> => {
    const tag = `"${facts.digest.slice(0, 24)}-${facts.status}"`;
    const answer = await ask("POST", `/price-lists/${facts.id}/issue`, {}, { "If-Match": tag });
    setWhy(answer?.status === 200 ? null : answer ? detailOf(answer.data) : "No signal.");
    await load();
  };
  const dealers = (list.value?.sent.channels ?? []).filter((one) => one.kind !== "retail");
  return (
    <main class="wide">
      <h1>Price lists</h1>
      {why && (
        <p class="why" role="alert">
          {why}
        </p>
      )}
      <ul class="rows">
        {lists.map((facts) => (
          <li key={facts.id} class="row list-row">
            <span class="named">
              <b>List {facts.number}</b> {STATUS[facts.status]}
              <small>
                in effect from {dayWords(facts.effective)}, good until {dayWords(facts.until)}, made
                by {facts.made_by}
              </small>
            </span>
            <span class="papers">
              {dealers.flatMap((channel) =>
                ["en-GB", "de-DE"].map((language) => (
                  <a
                    key={channel.name + language}
                    target="_blank"
                    rel="noopener"
                    href={`/api/v1/price-lists/${facts.id}/pdf?channel=${encodeURIComponent(channel.name)}&language=${language}`}
                  >
                    {channel.name}, {language}
                  </a>
                )),
              )}
            </span>
            {facts.status === "draft" && who.value?.role === "owner" && (
              <button type="button" onClick={() => void issue(facts)}>
                Issue the list
              </button>
            )}
          </li>
        ))}
      </ul>
      <h2>A new draft from the current price book</h2>
      <form class="fields" onSubmit={make}>
        <label class="field">
          List number
          <input name="number" required />
        </label>
        <label class="field">
          In effect from
          <input name="effective" type="date" required />
        </label>
        <label class="field">
          Good until
          <input name="until" type="date" required />
        </label>
        <button type="submit" class="main">
          Make a draft
        </button>
      </form>
    </main>
  );
}
