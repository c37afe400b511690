// What a laboratory said of one sample, as a person enters it: found or not, and which kinds.
import { useId } from "react";
import { sentence } from "./format";
import { Legend } from "./parts";
import { text } from "./text";

export const FIBRES = ["chrysotile", "amosite", "crocidolite", "tremolite", "actinolite", "anthophyllite"] as const;
export type Fibre = (typeof FIBRES)[number];

interface Props {
  found: boolean | null;
  fibres: readonly Fibre[];
  onFound: (found: boolean) => void;
  onFibres: (fibres: Fibre[]) => void;
}

export function WhatWasSaid({ found, fibres, onFound, onFibres }: Props) {
  const id = useId();
  const t = text.testing;
  return (
    <>
      <fieldset className="choice">
        <Legend required>{t.whatItSays}</Legend>
        {[false, true].map((value) => (
          <label key={String(value)}>
            <input type="radio" name={`${id}-found`} checked={found === value} onChange={() => onFound(value)} />
            {value ? t.saysFound : t.saysClear}
          </label>
        ))}
      </fieldset>
      {found ? (
        <fieldset className="choice">
          <legend>{t.whichFibres}</legend>
          {FIBRES.map((fibre) => (
            <label key={fibre}>
              <input
                type="checkbox"
                checked={fibres.includes(fibre)}
                onChange={(event) =>
                  onFibres(event.target.checked ? [...fibres, fibre] : fibres.filter((one) => one !== fibre))
                }
              />
              {sentence(fibre)}
            </label>
          ))}
        </fieldset>
      ) : null}
    </>
  );
}
