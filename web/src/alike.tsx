// What is said to look the same as a material: a result of one then moves the others, by how alike they are.
import { useState } from "react";
import { Button } from "react-aria-components";
import type { Fault, Material } from "./api";
import { useBook } from "./book";
import { FaultList, faultsOf, Legend, Panel, PanelForm, Pick, Section } from "./parts";
import { href } from "./route";
import { text } from "./text";

const t = text.alike;
const HOW = ["same piece", "same job and look", "same look", "same kind"];

export function Alike({ material, storey }: { material: Material; storey: string }) {
  const { book, roomOf, edit } = useBook();
  const [choosing, setChoosing] = useState(false);
  const [faults, setFaults] = useState<Fault[]>([]);
  const others = (book.materials ?? []).filter(
    (other) => material.group && other.group === material.group && other.id !== material.id,
  );
  const leave = () =>
    void edit("set", { what: material.id, fields: { group: null, alike: null } }).catch((error: unknown) =>
      setFaults(faultsOf(error)),
    );
  return (
    <Section title={t.title}>
      {others.length === 0 ? (
        <p className="quiet">{t.none}</p>
      ) : (
        <>
          <ul className="plain">
            {others.map((other) => (
              <li key={other.id}>
                <a href={href({ place: "house", storey: roomOf(other.room)?.storey ?? storey, chosen: other.id })}>
                  {other.name}
                </a>
              </li>
            ))}
          </ul>
          {material.alike ? <p className="quiet">{t.tells[material.alike]}</p> : null}
        </>
      )}
      <FaultList faults={faults} title={text.form.faults} />
      <div className="actions">
        <Button className="button quiet" onPress={() => setChoosing(true)}>
          {t.add}
        </Button>
        {others.length > 0 ? (
          <Button className="button quiet" onPress={leave}>
            {t.leave}
          </Button>
        ) : null}
      </div>
      {choosing ? <Choose material={material} onClose={() => setChoosing(false)} /> : null}
    </Section>
  );
}

function Choose({ material, onClose }: { material: Material; onClose: () => void }) {
  const { book, roomOf, edit } = useBook();
  const [other, setOther] = useState("");
  const [how, setHow] = useState("");
  const [faults, setFaults] = useState<Fault[]>([]);
  const like = (book.materials ?? []).filter((one) => one.id !== material.id && one.family === material.family);
  const save = async () => {
    const chosen = like.find((one) => one.id === other);
    if (!chosen || !how) {
      setFaults([{ where: "", value: "", problem: t.choose, allowed: "" }]);
      return;
    }
    const alike = { group: chosen.group ?? "@alike", alike: how };
    const parts = chosen.group
      ? [{ set: material.id, fields: alike }]
      : [
          { add: "group", as: "@alike", fields: { name: t.groupOf(chosen.name).slice(0, 120) } },
          { set: chosen.id, fields: alike },
          { set: material.id, fields: alike },
        ];
    try {
      await edit("several", { label: t.label(material.name, chosen.name).slice(0, 120), parts });
      onClose();
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  return (
    <Panel title={t.heading(material.name)} onClose={onClose}>
      <PanelForm faults={faults} send={like.length > 0 ? () => void save() : undefined} onClose={onClose}>
        {like.length === 0 ? (
          <p>{t.nothingElse}</p>
        ) : (
          <>
            <Pick
              label={t.other}
              value={other}
              options={like.map(
                (one) => [one.id, [one.name, roomOf(one.room)?.name].filter(Boolean).join(", ")] as const,
              )}
              first={text.form.choose}
              required
              onChange={setOther}
            />
            <fieldset className="choice">
              <Legend required>{t.how}</Legend>
              {HOW.map((word) => (
                <label key={word}>
                  <input type="radio" name="alike-how" checked={how === word} onChange={() => setHow(word)} />
                  {t.tells[word]}
                </label>
              ))}
            </fieldset>
          </>
        )}
      </PanelForm>
    </Panel>
  );
}
