// When the parts of the house were built or altered: what every likelihood begins with.
import { useState } from "react";
import { Button } from "react-aria-components";
import type { Phase } from "./api";
import { useBook } from "./book";
import { EditDialog } from "./form";
import { Panel } from "./parts";
import { text } from "./text";

const t = text.periods;

export function Periods({ onClose }: { onClose: () => void }) {
  const { book } = useBook();
  const [editing, setEditing] = useState<Phase | "new" | null>(null);
  const phases = book.phases ?? [];
  if (editing) {
    return (
      <EditDialog
        kind="phase"
        title={editing === "new" ? t.addTitle : t.change(editing.name)}
        verb={editing === "new" ? "add" : "set"}
        what={editing === "new" ? "phase" : editing.id}
        item={editing === "new" ? {} : editing}
        fields={["name", "years", "known_from"]}
        labels={t.fields}
        onClose={() => setEditing(null)}
        onDone={() => setEditing(null)}
      />
    );
  }
  return (
    <Panel title={t.heading} onClose={onClose}>
      <p>{t.lead}</p>
      <ul className="plain">
        {phases.map((phase) => (
          <li key={phase.id}>
            <strong>{phase.name}</strong>, {t.years(phase.years.from, phase.years.to)}
            {phase.known_from ? `, ${t.knownFrom(phase.known_from)}` : ""}{" "}
            <Button className="button quiet" aria-label={t.change(phase.name)} onPress={() => setEditing(phase)}>
              {t.changeShort}
            </Button>
          </li>
        ))}
      </ul>
      {phases.length === 0 ? <p>{t.none}</p> : null}
      <div className="actions">
        <Button className="button" onPress={onClose}>
          {text.close}
        </Button>
        <Button className="button strong" onPress={() => setEditing("new")}>
          {t.add}
        </Button>
      </div>
    </Panel>
  );
}
