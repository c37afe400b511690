// Charts of data, drawn by Observable Plot: as wide as the place they stand in, in the colours of the page.
import { useEffect, useLayoutEffect, useRef, useState } from "react";
import { flushSync } from "react-dom";
import { text } from "./text";
import "./chart.css";

export type Plot = typeof import("./marks");
type Options = NonNullable<Parameters<Plot["plot"]>[0]>;
/** What is drawn where there are so many pixels across. Kept (useCallback) for as long as the data are the same. */
export type Draw = (plot: Plot, width: number) => Options;

let library: Promise<Plot> | null = null;
let here: Plot | null = null;

const fetchPlot = () => (library ??= import("./marks").catch(forget));

function forget(error: unknown): never {
  library = null; // the next chart asks again
  throw error;
}

// Now, and not only once there is something to draw, which itself is asked for and waited for.
fetchPlot().catch(() => undefined);

/** Plot, or null until it is there; `failed` when it did not come. */
function usePlot() {
  const [plot, setPlot] = useState(here);
  const [failed, setFailed] = useState(false);
  useEffect(() => {
    if (here) return;
    let wanted = true;
    fetchPlot()
      .then((found) => {
        here = found;
        if (wanted) setPlot(found);
      })
      .catch(() => wanted && setFailed(true));
    return () => {
      wanted = false;
    };
  }, []);
  return { plot, failed };
}

/**
 * The drawing as it may enter the page: the page's policy lets no style in but that of its own file (chart.css). What the
 * library calls its marks is nothing to be read out: the place it stands in has the words.
 */
export function drawing(plot: Plot, options: Options, name: string): Element {
  const svg = plot.plot({ ...options, className: name, figure: false });
  svg.querySelector("style")?.remove();
  svg.setAttribute("aria-hidden", "true");
  return svg;
}

/** The most that fits on a sheet of paper in the size of the screen. */
const PAPER_PX = 700;

/** Whether the page is being printed now. */
function useOnPaper(): boolean {
  const [on, setOn] = useState(false);
  useEffect(() => {
    // At once: what is drawn after the event is on the paper no more.
    const before = () => flushSync(() => setOn(true));
    const after = () => setOn(false);
    window.addEventListener("beforeprint", before);
    window.addEventListener("afterprint", after);
    return () => {
      window.removeEventListener("beforeprint", before);
      window.removeEventListener("afterprint", after);
    };
  }, []);
  return on;
}

/** `name` is the class of the drawing, by which css and tests know it; `label` what it shows, in words. */
export function Chart({ name, label, draw }: { name: string; label: string; draw: Draw }) {
  const box = useRef<HTMLDivElement>(null);
  const [place, setPlace] = useState(0);
  const width = useOnPaper() ? Math.min(place, PAPER_PX) : place;
  const { plot, failed } = usePlot();
  useLayoutEffect(() => {
    const at = box.current;
    if (!at) return;
    const look = () => setPlace(at.clientWidth);
    look();
    const watch = new ResizeObserver(look);
    watch.observe(at);
    return () => watch.disconnect();
  }, []);
  useLayoutEffect(() => {
    if (plot && width > 0) box.current?.replaceChildren(drawing(plot, draw(plot, width), name));
  }, [plot, width, draw, name]);
  return (
    <>
      {failed ? <p className="quiet">{text.chart.notHere}</p> : null}
      <div ref={box} className="chart" role="img" aria-label={label} data-waits={!plot && !failed ? "" : undefined} />
    </>
  );
}

/** Size of all text in charts, and from one line of it to the next. As chart.css has it. */
const TEXT_PX = 15;
export const LINE_PX = 19;
/** As Plot wants it, in sizes of the text. */
export const LINE_HEIGHT = LINE_PX / TEXT_PX;

const A_LETTER = 0.58; // of the size of the text, where it cannot be measured
let pen: CanvasRenderingContext2D | null | undefined;

/** How many pixels words take in a chart. */
export function widthOf(words: string): number {
  if (pen === undefined) {
    pen = document.createElement("canvas").getContext("2d");
    if (pen) pen.font = `${TEXT_PX}px ${getComputedStyle(document.body).fontFamily}`;
  }
  return pen ? pen.measureText(words).width : words.length * TEXT_PX * A_LETTER;
}

/** The most pixels any of them takes; 0 of none. */
export const widest = (words: readonly string[]): number => Math.ceil(Math.max(0, ...words.map(widthOf)));

/** Words in lines no wider than `px`: broken between words, and within one that is wider by itself. */
export function wrapped(words: string, px: number): string[] {
  const out: string[] = [];
  let line = "";
  const put = (more: string) => {
    const joined = line ? `${line} ${more}` : more;
    if (widthOf(joined) <= px) return void (line = joined);
    if (line) out.push(line);
    line = more;
    while (widthOf(line) > px && line.length > 1) {
      let fits = line.length - 1;
      while (fits > 1 && widthOf(line.slice(0, fits)) > px) --fits;
      out.push(line.slice(0, fits));
      line = line.slice(fits);
    }
  };
  for (const word of words.split(/\s+/).filter(Boolean)) put(word);
  if (line) out.push(line);
  return out;
}
