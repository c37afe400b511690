// Papers: what is handed over, looked at before it goes out.
import { useEffect, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { PaperFile } from "./api";
import { useAnswer, useBook } from "./book";
import { NotAnswered } from "./parts";
import { href } from "./route";
import { text } from "./text";
import "./papers.css";

const t = text.papers;
type Kind = keyof typeof t.kinds;
const KINDS = Object.keys(t.kinds) as Kind[];
/** Papers that sections may be left out of. */
const REDACTABLE: Kind[] = ["handover", "tables", "calendar"];
const SECTIONS = ["health", "costs", "people", "photos"] as const;
const FIRST_PAGES = 4;

export function Papers({ one }: { one?: string | undefined }) {
  const { jobs } = useBook();
  const chosen = KINDS.find((kind) => kind === one);
  const job = jobs.find((each) => each.job === one);
  return (
    <div className="view">
      {chosen || job ? (
        <p className="back to-list">
          <a href={href({ place: "papers" })}>{t.back}</a>
        </p>
      ) : null}
      <header className="heading">
        <h1>{t.heading}</h1>
        <p className="lead">{t.lead}</p>
      </header>
      <div className="split open papers">
        <nav aria-label={t.list}>
          <ul className="plain paper-list">
            {KINDS.map((kind) => (
              <li key={kind}>
                <a href={href({ place: "papers", one: kind })} aria-current={kind === chosen ? "page" : undefined}>
                  <strong>{t.kinds[kind].name}</strong>
                  <small>{t.kinds[kind].what}</small>
                </a>
                {kind === "brief" && jobs.length > 0 ? (
                  <ul className="plain briefs">
                    {jobs.map((each) => (
                      <li key={each.job}>
                        <a
                          href={href({ place: "papers", one: each.job })}
                          aria-current={each.job === job?.job ? "page" : undefined}
                        >
                          {each.title}
                        </a>
                      </li>
                    ))}
                  </ul>
                ) : null}
              </li>
            ))}
          </ul>
        </nav>
        {chosen || job ? (
          <Paper
            key={one}
            order={chosen ?? job!.job}
            title={chosen ? t.kinds[chosen].name : job!.title}
            redactable={chosen !== undefined && REDACTABLE.includes(chosen)}
          />
        ) : (
          <p className="quiet choose-one">{t.choose}</p>
        )}
      </div>
    </div>
  );
}

function Paper({ order, title, redactable }: { order: string; title: string; redactable: boolean }) {
  const { revision } = useBook();
  const [without, setWithout] = useState<string[]>([]);
  const asked = [order, ...without].join(",");
  const { answer, refused } = useAnswer(api.paper, asked);
  const files = answer?.files;
  return (
    <section className="paper-view" aria-label={title}>
      <h2>{title}</h2>
      {redactable ? (
        <fieldset className="choice leave-out">
          <legend>{t.leaveOut}</legend>
          {SECTIONS.map((section) => (
            <label key={section}>
              <input
                type="checkbox"
                checked={without.includes(section)}
                onChange={(event) =>
                  setWithout((now) =>
                    SECTIONS.filter((one) => (one === section ? event.target.checked : now.includes(one))),
                  )
                }
              />
              {t.sections[section]}
            </label>
          ))}
        </fieldset>
      ) : null}
      {refused ? <NotAnswered refused={refused} /> : null}
      {!files && !refused ? (
        <p className="waiting" role="status">
          {t.making}
        </p>
      ) : null}
      {files && files.length === 0 ? <p className="quiet">{t.nothing}</p> : null}
      {/* A new revision is a new paper, though its address is the same. */}
      {files?.map((file) => (
        <File key={`${revision} ${file.name}`} asked={asked} file={file} alone={files.length === 1} />
      ))}
    </section>
  );
}

const size = (bytes: number) =>
  bytes < 10_000 ? t.bytes(String(bytes)) : t.kilobytes(String(Math.round(bytes / 1000)));

function File({ asked, file, alone }: { asked: string; file: PaperFile; alone: boolean }) {
  const address = `/api/paper/${asked}/${file.name}`;
  const paged = file.media_type === "application/pdf";
  const name = file.name.split("/").pop() ?? file.name;
  return (
    <article className="paper-file">
      <div className="paper-head">
        <h3>
          {name} <small>{size(file.bytes)}</small>
        </h3>
        <div className="actions">
          {paged ? (
            <a className="button" href={address} target="_blank" rel="noreferrer" aria-label={t.openLabel(name)}>
              {t.open}
            </a>
          ) : null}
          <a className="button strong" href={address} download={name} aria-label={t.saveLabel(name)}>
            {t.save}
          </a>
        </div>
      </div>
      {paged ? <Pages asked={asked} file={file} open={alone} /> : <Lines address={address} open={alone} />}
    </article>
  );
}

/** The first pages as pictures; the rest on asking. A page that is not there ends it. */
function Pages({ asked, file, open }: { asked: string; file: PaperFile; open: boolean }) {
  const [shown, setShown] = useState(open ? 1 : 0);
  const [last, setLast] = useState<number | null>(null);
  const pages = Array.from({ length: last ?? shown }, (_, i) => i + 1);
  return (
    <>
      <div className="pages">
        {pages.map((page) => (
          <img
            key={page}
            src={`/api/preview/${asked}/${file.name}/${page}`}
            alt={t.pageOf(page, file.name)}
            loading="lazy"
            onLoad={() => setShown((now) => (page === now && page < FIRST_PAGES && last === null ? page + 1 : now))}
            onError={() => setLast(page - 1)}
          />
        ))}
      </div>
      {last === null ? (
        <Button className="button quiet" onPress={() => setShown((now) => now + 1)}>
          {shown === 0 ? t.look : t.more}
        </Button>
      ) : null}
    </>
  );
}

const MOST_LINES = 40;

function Lines({ address, open }: { address: string; open: boolean }) {
  const [lines, setLines] = useState<string[] | null>(null);
  const [wanted, setWanted] = useState(open);
  useEffect(() => {
    let here = true;
    if (wanted) {
      void fetch(address, { credentials: "same-origin" })
        .then((response) => response.text())
        .then((all) => here && setLines(all.split(/\r?\n/)));
    }
    return () => {
      here = false;
    };
  }, [address, wanted]);
  if (!wanted) {
    return (
      <Button className="button quiet" onPress={() => setWanted(true)}>
        {t.look}
      </Button>
    );
  }
  return lines ? (
    <pre className="lines" tabIndex={0}>
      {lines.slice(0, MOST_LINES).join("\n")}
      {lines.length > MOST_LINES ? `\n${t.moreLines(lines.length - MOST_LINES)}` : ""}
    </pre>
  ) : null;
}
