// Whose rules hold: the country, and where its rules differ the state, territory or nation.
import { useState } from "react";
import { Button } from "react-aria-components";
import type { About, Country, Fault } from "./api";
import { useBook, useWords } from "./book";
import { day } from "./format";
import { Panel, PanelForm, Pick, faultsOf, named } from "./parts";
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
      <Pick
        label={words.country}
        value={value.rules}
        options={named(countries)}
        onChange={(rules) => onChange({ ...value, rules, region: "" })}
      />
      {country && country.regions.length > 0 ? (
        <Pick
          label={words.region(country.region_is)}
          value={value.region}
          options={named(country.regions)}
          first={country.regions_differ ? words.notSaid : words.anyRegion}
          onChange={(chosen) => onChange({ ...value, region: chosen })}
        />
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
          <PanelForm
            faults={faults}
            title={words.failed}
            words={words.save}
            busy={busy}
            send={() => void save()}
            onClose={() => setChosen(null)}
          >
            <p className="hint">{words.hint}</p>
            <CountryFields countries={countries} value={chosen} onChange={setChosen} />
            {other && other.currency !== was.currency ? <p>{words.money(was.currency, other.currency)}</p> : null}
          </PanelForm>
        </Panel>
      ) : null}
    </div>
  );
}
