// Whose rules hold: the country, and where its rules differ the state, territory or nation.
import { useState } from "react";
import { Button } from "react-aria-components";
import type { About, Country, Fault } from "./api";
import { useBook, useWords } from "./book";
import { day } from "./format";
import { FaultList, Panel, faultsOf } from "./parts";
import { text } from "./text";

const words = text.country;

export interface Rules {
  rules: string;
  region: string;
  currency: string;
}

/** What a book says of them; a book that leaves something out has what the program takes then. */
export const rulesOf = (about: About): Rules => ({
  rules: about.rules ?? "gb",
  region: about.region ?? "",
  currency: about.currency ?? "GBP",
});

/** The fields of `about` that change with the rules; the currency is the country's. */
export function fieldsOf(chosen: Rules, was: Rules, countries: Country[]): Record<string, string | null> {
  if (chosen.rules === was.rules && chosen.region === was.region) return {};
  const country = countries.find((one) => one.id === chosen.rules);
  return {
    rules: chosen.rules,
    region: chosen.region || null,
    ...(chosen.rules !== was.rules && country ? { currency: country.currency } : {}),
  };
}

export function CountryFields({
  countries,
  value,
  onChange,
}: {
  countries: Country[];
  value: Rules;
  onChange: (value: Rules) => void;
}) {
  const country = countries.find((one) => one.id === value.rules);
  const region = country?.regions.find((one) => one.id === value.region);
  return (
    <div className="country">
      <div className="field">
        <label htmlFor="country">{words.country}</label>
        <select
          id="country"
          value={value.rules}
          onChange={(event) => onChange({ ...value, rules: event.target.value, region: "" })}
        >
          {countries.map((one) => (
            <option key={one.id} value={one.id}>
              {one.name}
            </option>
          ))}
        </select>
      </div>
      {country && country.regions.length > 0 ? (
        <div className="field">
          <label htmlFor="region">{words.region(country.region_is)}</label>
          <select
            id="region"
            value={value.region}
            onChange={(event) => onChange({ ...value, region: event.target.value })}
          >
            <option value="">{country.regions_differ ? words.notSaid : words.anyRegion}</option>
            {country.regions.map((one) => (
              <option key={one.id} value={one.id}>
                {one.name}
              </option>
            ))}
          </select>
        </div>
      ) : null}
      {region ? <p className="hint">{region.note}</p> : null}
      {country ? <p className="hint">{words.asOf(day(country.as_of))}</p> : null}
    </div>
  );
}

/** The rules in force in one line, and the way to change them. */
export function RulesLine() {
  const { book, edit } = useBook();
  const known = useWords();
  const [chosen, setChosen] = useState<Rules | null>(null);
  const [faults, setFaults] = useState<Fault[]>([]);
  const [busy, setBusy] = useState(false);
  const countries = known?.countries ?? [];
  const was = rulesOf(book.about);
  const country = countries.find((one) => one.id === was.rules);
  if (!country) return null;
  const region = country.regions.find((one) => one.id === was.region);
  const other = chosen ? countries.find((one) => one.id === chosen.rules) : undefined;

  const save = async () => {
    if (!chosen) return;
    const fields = fieldsOf(chosen, was, countries);
    setBusy(true);
    try {
      if (Object.keys(fields).length > 0) await edit("set", { what: "about", fields });
      setChosen(null);
    } catch (error) {
      setFaults(faultsOf(error));
    }
    setBusy(false);
  };

  return (
    <div className="rules-line">
      {words.now(country.name, region?.name ?? "")}{" "}
      <Button
        className="button quiet"
        onPress={() => {
          setFaults([]);
          setChosen(was);
        }}
      >
        {words.change}
      </Button>
      {chosen ? (
        <Panel title={words.heading} onClose={() => setChosen(null)}>
          <p className="hint">{words.hint}</p>
          <CountryFields countries={countries} value={chosen} onChange={setChosen} />
          {other && other.currency !== was.currency ? <p>{words.money(was.currency, other.currency)}</p> : null}
          <FaultList title={words.failed} faults={faults} />
          <div className="actions">
            <Button className="button strong" isDisabled={busy} onPress={() => void save()}>
              {words.save}
            </Button>
            <Button className="button quiet" onPress={() => setChosen(null)}>
              {text.cancel}
            </Button>
          </div>
        </Panel>
      ) : null}
    </div>
  );
}
