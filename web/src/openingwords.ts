// What an opening is called: what it is and which rooms it joins.
import type { Book, Opening } from "./api";
import { text } from "./text";

export function openingName(book: Book, opening: Opening): string {
  const name = (id: string | undefined) => (id ? (book.rooms?.find((room) => room.id === id)?.name ?? id) : undefined);
  return text.openings.named(
    text.openings.kinds[opening.kind] ?? opening.kind,
    name(opening.from) ?? opening.from,
    name(opening.to) ?? text.openings.outdoors,
  );
}
