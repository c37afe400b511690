// Writes src/api_types.ts, the types of all that is asked of the program and answered, from the forms that the program
// itself reads and is tested against: the book's schema and src/http/schemas/. What it does not understand stops it.
import { existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";

const root = new URL("../", import.meta.url);
const read = (path) => JSON.parse(readFileSync(new URL(path, root), "utf8"));

const forms = new Map();
const questions = new Map();

function add(name, form) {
  if (forms.has(name)) throw new Error(`two forms are called ${name}`);
  forms.set(name, form);
}

/** "full-job-answer" as TypeScript writes it. */
const type_name = (name) => name.replace(/(^|-)([a-z])/g, (_, __, letter) => letter.toUpperCase());

const key_text = (key) => (/^[A-Za-z_$][\w$]*$/.test(key) ? key : JSON.stringify(key));

const CHECKED_ALONE =
  "description title minimum maximum exclusiveMinimum exclusiveMaximum minLength maxLength pattern format uniqueItems dependentRequired";
const without_a_type = new Set([...CHECKED_ALONE.split(" "), "x-money"]);

/** The keywords of a form that say what type it has; throws for one that is not among `known`. */
function only(form, where, ...known) {
  for (const key of Object.keys(form)) {
    if (!known.includes(key) && !without_a_type.has(key))
      throw new Error(`${where} uses ${key}, of which no type is made`);
  }
}

function object_type(form, where, others = []) {
  only(form, where, "type", "properties", "required", "additionalProperties");
  if (!form.properties) {
    const inner = form.additionalProperties;
    if (inner === undefined) return "object";
    return `Record<string, ${typeof inner === "object" ? type_of(inner, `${where}/*`) : "unknown"}>`;
  }
  if (form.additionalProperties !== false) throw new Error(`${where} is not closed`);
  const lines = Object.entries(form.properties).map(([key, inner]) => {
    const about = inner.description ? `/** ${inner.description} */\n` : "";
    return `${about}${key_text(key)}${form.required?.includes(key) ? "" : "?"}: ${type_of(inner, `${where}/${key}`)};`;
  });
  // Of one of several objects the others' fields are absent: so asking for one tells which it is.
  lines.push(...others.filter((key) => !(key in form.properties)).map((key) => `${key_text(key)}?: never;`));
  return `{\n${lines.join("\n")}\n}`;
}

function one_of(list, where) {
  const keys = [...new Set(list.flatMap((form) => Object.keys(form.properties ?? {})))];
  return list
    .map((form, i) => (form.properties ? object_type(form, `${where}/${i}`, keys) : type_of(form, `${where}/${i}`)))
    .join(" | ");
}

function type_of(form, where) {
  if ("$ref" in form) {
    only(form, where, "$ref");
    const name = form.$ref.replace(/^#\/\$defs\//, "");
    if (!forms.has(name)) throw new Error(`${where} leans on ${form.$ref}, which is not there`);
    return type_name(name);
  }
  if ("x-draft-of" in form) return `Partial<${type_of({ $ref: `#/$defs/${form["x-draft-of"]}` }, where)}>`;
  if ("const" in form) return JSON.stringify(form.const);
  if ("enum" in form) return form.enum.map((word) => JSON.stringify(word)).join(" | ");
  if ("anyOf" in form) {
    only(form, where, "anyOf");
    return one_of(form.anyOf, where);
  }
  if (form.type === "object") return object_type(form, where);
  if (form.type === "array") {
    only(form, where, "type", "items", "prefixItems", "minItems", "maxItems");
    if (form.prefixItems) return `[${form.prefixItems.map((one, i) => type_of(one, `${where}/${i}`)).join(", ")}]`;
    return `Array<${type_of(form.items, `${where}/*`)}>`;
  }
  only(form, where, "type");
  const plain = { string: "string", number: "number", integer: "number", boolean: "boolean", null: "null" }[form.type];
  if (plain) return plain;
  if (Object.keys(form).length === 0) return "unknown";
  throw new Error(`${where} has no type`);
}

function declared(name, form) {
  const about = form.description ? `/** ${form.description} */\n` : "";
  const type = type_of(form, name);
  return type.startsWith("{") && !("anyOf" in form)
    ? `${about}export interface ${type_name(name)} ${type}`
    : `${about}export type ${type_name(name)} = ${type};`;
}

/** The sides of all questions asked one way: `book: { answer: WholeBook };`. */
function asked(way) {
  const rows = [...questions].filter(([question]) => question.startsWith(`${way} `));
  const row = ([question, sides]) =>
    `${question.slice(way.length + 1)}: { ${Object.entries(sides)
      .map(([side, form]) => `${side}: ${type_of(form, `${question} ${side}`)}`)
      .join("; ")} };`;
  return rows.map(row).join("\n");
}

const { $schema, $defs, "x-kinds": kinds, ...book } = read("data/schemas/book.schema.json");
if (!$schema || !kinds) throw new Error("the book's schema is not what it was");
for (const [name, form] of Object.entries($defs)) add(name, form);
add("book", book);
for (const file of readdirSync(new URL("src/http/schemas/", root)).sort()) {
  const { questions: here, $defs: defs } = read(`src/http/schemas/${file}`);
  for (const [name, form] of Object.entries(defs)) add(name, form);
  for (const [question, sides] of Object.entries(here)) questions.set(question, sides);
}
const written = [
  "// Written by types.mjs from data/schemas/book.schema.json and src/http/schemas/; not kept in git, do not edit.",
  ...[...forms].map(([name, form]) => declared(name, form)),
  `/** What is asked with GET, by the word after /api/. */\nexport interface Gets {\n${asked("GET")}\n}`,
  `/** What is asked with POST. */\nexport interface Posts {\n${asked("POST")}\n}`,
  "",
].join("\n\n");
const to = new URL("web/src/api_types.ts", root);
if (!existsSync(to) || readFileSync(to, "utf8") !== written) writeFileSync(to, written);
