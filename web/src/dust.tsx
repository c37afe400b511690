import { text } from "./text";
import "./dust.css";

export function Dust() {
  return (
    <div className="view">
      <header className="heading">
        <h1>{text.dust.heading}</h1>
      </header>
    </div>
  );
}
