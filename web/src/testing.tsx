import { text } from "./text";
import "./testing.css";

export function Testing() {
  return (
    <div className="view">
      <header className="heading">
        <h1>{text.testing.heading}</h1>
      </header>
    </div>
  );
}
