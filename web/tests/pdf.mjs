// One page of text as a PDF, set in one fixed-width typeface, for what reads PDFs.

/** Lines of plain ASCII without brackets. */
export function pdfOf(lines) {
  const drawn = lines.map((line, i) => `BT /F 9 Tf 40 ${800 - 12 * i} Td (${line}) Tj ET\n`).join("");
  const objects = [
    "<< /Type /Catalog /Pages 2 0 R >>",
    "<< /Type /Pages /Kids [4 0 R] /Count 1 >>",
    "<< /Type /Font /Subtype /Type1 /BaseFont /Courier >>",
    "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 5 0 R /Resources << /Font << /F 3 0 R >> >> >>",
    `<< /Length ${drawn.length} >>\nstream\n${drawn}endstream`,
  ];
  let pdf = "%PDF-1.4\n";
  let table = `xref\n0 ${objects.length + 1}\n0000000000 65535 f \n`;
  objects.forEach((object, i) => {
    table += `${String(pdf.length).padStart(10, "0")} 00000 n \n`;
    pdf += `${i + 1} 0 obj\n${object}\nendobj\n`;
  });
  const trailer = `trailer\n<< /Size ${objects.length + 1} /Root 1 0 R >>\nstartxref\n${pdf.length}\n%%EOF\n`;
  return Buffer.from(pdf + table + trailer);
}
