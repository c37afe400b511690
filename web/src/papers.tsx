import { text } from "./text";
import "./papers.css";

export function Papers() {
  return (
    <div className="view">
      <header className="heading">
        <h1>{text.papers.heading}</h1>
      </header>
    </div>
  );
}
