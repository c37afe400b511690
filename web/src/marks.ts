// What the page takes of Observable Plot. Fetched once a chart is to be seen, as a file of its own (chart.tsx): a list of
// names, so that what is not among them is left out of that file.
export {
  areaY,
  axisX,
  axisY,
  dot,
  gridX,
  gridY,
  lineY,
  plot,
  pointerX,
  rect,
  ruleX,
  ruleY,
  text,
} from "@observablehq/plot";
