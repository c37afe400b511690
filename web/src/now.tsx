// The first ten minutes: what to do at once, before anything else is asked. Every step is there before the first choice.
import { useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Amount } from "./api";
import { useAnswer } from "./book";
import { sentence } from "./format";
import { SourcesOf } from "./parts";
import { href } from "./route";
import { text } from "./text";

const t = text.now;
const AMOUNTS: Amount[] = ["small", "large"];

export function Now() {
  const { answer } = useAnswer(api.now);
  // Not knowing what it was, or how much, is taken for the worst.
  const [kind, setKind] = useState(0);
  const [amount, setAmount] = useState<Amount>("large");
  const chosen = answer?.kinds[kind];
  const steps = answer && chosen ? chosen[amount].flatMap((id) => answer.steps[id] ?? []) : [];
  return (
    <div className="view now">
      <header className="heading">
        <h1>{t.heading}</h1>
      </header>
      <ol className="at-once">
        {steps.map((step) => (
          <li key={step.text}>{step.text}</li>
        ))}
      </ol>
      {answer ? (
        <div className="which">
          <fieldset className="choice">
            <legend>{t.what}</legend>
            {answer.kinds.map((one, i) => (
              <label key={one.binding}>
                <input type="radio" name="kind" checked={kind === i} onChange={() => setKind(i)} />
                <span>
                  {i === 0 ? t.unknown : sentence(one.binding)}
                  <small>{one.families.map((family) => family.name).join(", ")}</small>
                </span>
              </label>
            ))}
          </fieldset>
          <fieldset className="choice">
            <legend>{t.howMuch}</legend>
            {AMOUNTS.map((one) => (
              <label key={one}>
                <input type="radio" name="amount" checked={amount === one} onChange={() => setAmount(one)} />
                {t.amounts[one]}
              </label>
            ))}
          </fieldset>
        </div>
      ) : null}
      <SourcesOf reasons={steps} />
      <div className="actions">
        <Button className="button" onPress={() => window.print()}>
          {text.print}
        </Button>
        <a className="button strong" href={href({ place: "dust", one: "new" })}>
          {t.then}
        </a>
      </div>
      <p className="cautions">{t.caution}</p>
    </div>
  );
}
