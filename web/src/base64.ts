// Files on their way to the program: base64 inside JSON, which it takes up to 16 MiB of.
export const MOST_BYTES = 11 * 1024 * 1024; // base64 makes 4 of 3

/** The bytes of a file as base64. */
export async function base64(file: File): Promise<string> {
  const url = await new Promise<string>((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result as string);
    reader.onerror = () => reject(reader.error ?? new Error());
    reader.readAsDataURL(file);
  });
  return url.slice(url.indexOf(",") + 1);
}
