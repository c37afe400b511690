import { text } from "./text";
import "./waste.css";

export function Waste() {
  return (
    <div className="view">
      <header className="heading">
        <h1>{text.waste.heading}</h1>
      </header>
    </div>
  );
}
