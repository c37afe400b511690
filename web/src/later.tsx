// Places of the page that are fetched when they are first gone to.
import { Component, lazy } from "react";
import type { ComponentType, ReactNode } from "react";
import { Button } from "react-aria-components";
import { text } from "./text";

class DidNotCome extends Error {}

/** A place whose code `fetch` brings; within `Came`, which says so where it does not come. */
export const later = <Props,>(fetch: () => Promise<ComponentType<Props>>) =>
  lazy(async () => {
    try {
      return { default: await fetch() };
    } catch (error) {
      throw new DidNotCome("a part of the page did not come", { cause: error });
    }
  });

/** Where a place did not come, the program cannot be reached or is another than the one this page is of. */
export class Came extends Component<{ children: ReactNode }, { missing: boolean }> {
  override state = { missing: false };

  static getDerivedStateFromError(error: unknown) {
    if (error instanceof DidNotCome) return { missing: true };
    throw error; // of the page's own making
  }

  override render() {
    if (!this.state.missing) return this.props.children;
    return (
      <div className="view" role="alert">
        <p>{text.closed}</p>
        <div className="actions">
          <Button className="button" onPress={() => window.location.reload()}>
            {text.retry}
          </Button>
        </div>
      </div>
    );
  }
}
