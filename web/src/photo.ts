// A photo on its way into the book.
import { Refused } from "./api";
import { base64, MOST_BYTES } from "./base64";
import { text } from "./text";

const isoDay = (moment: number): string => new Date(moment).toISOString().slice(0, 10);

/** A chosen file as the program takes a photo, but for what it is of. Throws a refusal where it is too large. */
export async function photoOf(
  file: File,
  title: string,
  today: string,
): Promise<{ title: string; dated: string; base64: string }> {
  if (file.size > MOST_BYTES)
    throw new Refused(413, [{ where: "", value: "", problem: text.photos.tooLarge, allowed: "" }]);
  // A camera's file is as old as its picture; one that says tomorrow is not believed.
  const taken = isoDay(file.lastModified);
  return { title, dated: taken > today ? today : taken, base64: await base64(file) };
}
