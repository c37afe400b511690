import { StrictMode, useEffect, useState } from "react";
import { createRoot } from "react-dom/client";
import { Button } from "react-aria-components";
import { BookProvider, useBook } from "./book";
import { House } from "./house";
import { JobPage, Jobs } from "./jobs";
import { Hatches } from "./plan";
import { href, useRoute } from "./route";
import { text } from "./text";
import "./style.css";

type Theme = "auto" | "light" | "dark";
const THEMES: Theme[] = ["auto", "light", "dark"];

function useTheme(): [Theme, (theme: Theme) => void] {
  const [theme, setTheme] = useState<Theme>(() => {
    const kept = window.localStorage.getItem("paper");
    return THEMES.find((one) => one === kept) ?? "auto";
  });
  useEffect(() => {
    document.documentElement.dataset.paper = theme;
    window.localStorage.setItem("paper", theme);
  }, [theme]);
  return [theme, setTheme];
}

const ICONS = {
  house: "M3 11.5 12 4l9 7.5M5.5 10v10h13V10M10 20v-6h4v6",
  jobs: "M4 7h9M4 12h6M4 17h9M15.5 13.5 21 8m-2.2-2.2 4.4 4.4M15 14l-1 4 4-1",
};

function Frame() {
  const route = useRoute();
  const { steps, edit, said } = useBook();
  const [theme, setTheme] = useTheme();
  const [failed, setFailed] = useState("");
  const act = (verb: "undo" | "redo") => {
    setFailed("");
    edit(verb).catch((error: unknown) => setFailed(error instanceof Error ? error.message : String(error)));
  };
  const where = JSON.stringify(route);
  useEffect(() => {
    window.scrollTo(0, 0);
  }, [where]);
  useEffect(() => {
    const pressed = (event: KeyboardEvent) => {
      const typing = event.target instanceof Element && event.target.closest("input, textarea, select, [role=dialog]");
      if (typing || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
      event.preventDefault();
      act(event.shiftKey ? "redo" : "undo");
    };
    window.addEventListener("keydown", pressed);
    return () => window.removeEventListener("keydown", pressed);
  });
  return (
    <div className="frame">
      <a className="skip" href="#page-main" onClick={(event) => { event.preventDefault(); document.getElementById("page-main")?.focus(); }}>
        {text.skip}
      </a>
      <nav className="rail" aria-label={text.name}>
        <span className="name" aria-hidden="true">
          {text.name}
        </span>
        {(["house", "jobs"] as const).map((place) => (
          <a key={place} href={href({ place })} aria-current={route.place === place ? "page" : undefined}>
            <svg viewBox="0 0 24 24" aria-hidden="true">
              <path d={ICONS[place]} />
            </svg>
            {text.places[place]}
          </a>
        ))}
      </nav>
      <div className="body">
        <header className="tools">
          <Button className="button quiet" isDisabled={!steps.undo} aria-label={text.undo(steps.undo)} onPress={() => act("undo")}>
            {text.undoShort}
          </Button>
          <Button className="button quiet" isDisabled={!steps.redo} aria-label={text.redo(steps.redo)} onPress={() => act("redo")}>
            {text.redoShort}
          </Button>
          <p className="said" role="status">
            {failed || said}
          </p>
          <label className="paper">
            <span>{text.themeLabel}</span>
            <select value={theme} onChange={(event) => setTheme(event.target.value as Theme)}>
              {THEMES.map((one) => (
                <option key={one} value={one}>
                  {text.theme[one]}
                </option>
              ))}
            </select>
          </label>
        </header>
        <main id="page-main" tabIndex={-1}>
          {route.place === "house" ? <House {...route} /> : route.job ? <JobPage id={route.job} /> : <Jobs />}
        </main>
      </div>
    </div>
  );
}

createRoot(document.getElementById("page")!).render(
  <StrictMode>
    <Hatches />
    <BookProvider>
      <Frame />
    </BookProvider>
  </StrictMode>,
);
