import { StrictMode, Suspense, useEffect, useState } from "react";
import { createRoot } from "react-dom/client";
import { Button } from "react-aria-components";
import { BookProvider, useBook } from "./book";
import { BroughtIn } from "./brought_in";
import "./style.css";
import { Find } from "./find";
import { House } from "./house";
import { JobPage, Jobs } from "./jobs";
import { Came, later } from "./later";
import { Phones } from "./phone";
import { Hatches } from "./plan";
import { PLACES, href, useRoute } from "./route";
import type { Route } from "./route";
import { text } from "./text";
import { Waits } from "./waits";

type Theme = "auto" | "light" | "dark";
const THEMES: Theme[] = ["auto", "light", "dark"];

function useTheme(): [Theme, (theme: Theme) => void] {
  const [theme, setTheme] = useState<Theme>(() => {
    const kept = window.localStorage.getItem("paper");
    return THEMES.find((one) => one === kept) ?? "auto";
  });
  useEffect(() => {
    window.localStorage.setItem("paper", theme);
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    const lay = () => {
      document.documentElement.dataset.paper = theme === "auto" ? (dark.matches ? "dark" : "light") : theme;
    };
    lay();
    dark.addEventListener("change", lay);
    return () => dark.removeEventListener("change", lay);
  }, [theme]);
  return [theme, setTheme];
}

// The first load is of what is seen first: the house and its jobs.
const Dust = later(async () => (await import("./dust")).Dust);
const Papers = later(async () => (await import("./papers")).Papers);
const Testing = later(async () => (await import("./testing")).Testing);
const Timeline = later(async () => (await import("./timeline")).Timeline);
const Waste = later(async () => (await import("./waste")).Waste);

function Place({ route }: { route: Route }) {
  switch (route.place) {
    case "house":
      return <House {...route} />;
    case "jobs":
      if (route.one === "timeline") return <Timeline />;
      if (route.one === "brought-in") return <BroughtIn />;
      return route.one ? <JobPage id={route.one} /> : <Jobs />;
    case "testing":
      return <Testing one={route.one} />;
    case "dust":
      return <Dust one={route.one} />;
    case "waste":
      return <Waste />;
    case "papers":
      return <Papers one={route.one} />;
  }
}

const ICONS: Record<Route["place"], string> = {
  house: "M3 11.5 12 4l9 7.5M5.5 10v10h13V10M10 20v-6h4v6",
  jobs: "M4 7h9M4 12h6M4 17h9M15.5 13.5 21 8m-2.2-2.2 4.4 4.4M15 14l-1 4 4-1",
  testing: "M9 4h6M10 4v6l-5 8.5a1 1 0 0 0 .9 1.5h12.2a1 1 0 0 0 .9-1.5L14 10V4M7.5 15h9",
  dust: "M4 8c2.5-2 5.5 2 8 0s5.5-2 8 0M4 13c2.5-2 5.5 2 8 0s5.5-2 8 0M7 18h.01M12 18.5h.01M17 18h.01",
  waste:
    "M3 7h11v10H3zM14 10h4l3 3.5V17h-7M7 19.5a1.8 1.8 0 1 0 0-3.6 1.8 1.8 0 0 0 0 3.6M17 19.5a1.8 1.8 0 1 0 0-3.6 1.8 1.8 0 0 0 0 3.6",
  papers: "M6 3h8l4 4v14H6zM14 3v4h4M9 12h6M9 16h6",
};

/** Signs of the tools, for where there is no room for their words. */
const TOOLS = {
  undo: "M9 6 4.5 10.5 9 15M4.5 10.5H14a5 5 0 0 1 0 10h-3",
  redo: "M15 6l4.5 4.5L15 15M19.5 10.5H10a5 5 0 0 0 0 10h3",
  paper: "M12 3.5a8.5 8.5 0 1 0 0 17zM12 3.5a8.5 8.5 0 0 1 0 17M14.5 7h3.2M14.5 10.3h5M14.5 13.7h5M14.5 17h3.2",
};

function Icon({ path }: { path: string }) {
  return (
    <svg className="sign" viewBox="0 0 24 24" aria-hidden="true">
      <path d={path} />
    </svg>
  );
}

function Frame() {
  const route = useRoute();
  const { steps, unsent, edit, said } = useBook();
  const undoable = unsent ? text.waits.unsentStep(unsent.words) : steps.undo;
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
      <a
        className="skip"
        href="#page-main"
        onClick={(event) => {
          event.preventDefault();
          document.getElementById("page-main")?.focus();
        }}
      >
        {text.skip}
      </a>
      <nav className="rail" aria-label={text.name}>
        <span className="name" aria-hidden="true">
          {text.name}
        </span>
        {PLACES.map((place) => (
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
          <Button
            className="button quiet"
            isDisabled={!undoable}
            aria-label={text.undo(undoable)}
            onPress={() => act("undo")}
          >
            <Icon path={TOOLS.undo} />
            <span>{text.undoShort}</span>
          </Button>
          <Button
            className="button quiet"
            isDisabled={!steps.redo}
            aria-label={text.redo(steps.redo)}
            onPress={() => act("redo")}
          >
            <Icon path={TOOLS.redo} />
            <span>{text.redoShort}</span>
          </Button>
          <a className="button quiet just-now" href={href({ place: "dust", one: "now" })}>
            {text.dust.disturbedShort}
          </a>
          <p className="said" role="status">
            {failed || said ? <span key={failed || said}>{failed || said}</span> : null}
          </p>
          <Phones />
          <Find />
          <label className="paper">
            <Icon path={TOOLS.paper} />
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
        <Waits />
        <main id="page-main" tabIndex={-1}>
          <Came key={route.place}>
            <Suspense fallback={<p className="waiting">{text.loading}</p>}>
              <Place route={route} />
            </Suspense>
          </Came>
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
