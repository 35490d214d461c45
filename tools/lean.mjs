// Takes out of wasm-bindgen's output what nothing uses, and shortens the names by which the module and its
// script call each other: a member downloads both.

/** Exports of crates that leptos brings along: streams for a server. Nothing calls them, and as exports they stay. */
const UNUSED = /^(__wbg_)?intounderlying/i;

const [IMPORTS, EXPORTS] = [2, 7];

/** The sections of a module: their kind and where they stand. */
function* sections(bytes) {
  let at = 8;
  while (at < bytes.length) {
    const kind = bytes[at];
    const [length, start] = number(bytes, at + 1);
    yield { kind, from: at, start, end: start + length };
    at = start + length;
  }
}

/** A LEB128 number, and where it ends. */
function number(bytes, at) {
  let [value, shift] = [0, 0];
  for (;;) {
    const byte = bytes[at];
    at += 1;
    value += (byte & 127) * 2 ** shift;
    if (byte < 128) return [value, at];
    shift += 7;
  }
}

function leb(value) {
  const bytes = [];
  do {
    bytes.push((value & 127) | (value > 127 ? 128 : 0));
    value = Math.floor(value / 128);
  } while (value > 0);
  return Buffer.from(bytes);
}

function name(bytes, at) {
  const [length, start] = number(bytes, at);
  return [bytes.toString("utf8", start, start + length), start + length];
}

const named = (text) => Buffer.concat([leb(Buffer.byteLength(text)), Buffer.from(text)]);

/** The module with one section written anew by `rewrite`, which gets the count and where the entries start. */
function withSection(bytes, wanted, rewrite) {
  for (const { kind, from, start, end } of sections(bytes)) {
    if (kind !== wanted) continue;
    const [count, first] = number(bytes, start);
    const entries = rewrite(count, first);
    const body = Buffer.concat([leb(entries.length), ...entries]);
    return Buffer.concat([bytes.subarray(0, from), Buffer.from([kind]), leb(body.length), body, bytes.subarray(end)]);
  }
  return bytes;
}

/** Without the exports that nothing uses. What only they reach is for wasm-opt to take out. */
export function withoutUnused(bytes) {
  return withSection(bytes, EXPORTS, (count, at) => {
    const kept = [];
    for (let n = 0; n < count; n += 1) {
      const [text, after] = name(bytes, at);
      const [, end] = number(bytes, after + 1);
      if (!UNUSED.test(text)) kept.push(bytes.subarray(at, end));
      at = end;
    }
    return kept;
  });
}

/** Where the type of an import ends. */
function typeEnd(bytes, at) {
  const limits = (at) => {
    const flags = bytes[at];
    [, at] = number(bytes, at + 1);
    return flags & 1 ? number(bytes, at)[1] : at;
  };
  switch (bytes[at]) {
    case 0: return number(bytes, at + 1)[1];
    case 1: return limits(at + 2);
    case 2: return limits(at + 1);
    case 3: return at + 3;
    default: throw new Error(`an import of kind ${bytes[at]}`);
  }
}

/** The module with short names for what it imports from `module`, and the names: long to short. */
export function shortNames(bytes, module) {
  const names = new Map();
  const short = withSection(bytes, IMPORTS, (count, at) => {
    const entries = [];
    for (let n = 0; n < count; n += 1) {
      const [from, afterModule] = name(bytes, at);
      const [field, afterField] = name(bytes, afterModule);
      const end = typeEnd(bytes, afterField);
      if (from === module) {
        if (!names.has(field)) names.set(field, names.size.toString(36));
        entries.push(Buffer.concat([named("w"), named(names.get(field)), bytes.subarray(afterField, end)]));
      } else {
        entries.push(bytes.subarray(at, end));
      }
      at = end;
    }
    return entries;
  });
  return [short, names];
}

/** The script with those names, without what the module does not import. */
export function leanScript(script, module, names) {
  const [head, rest] = script.split("    const import0 = {\n        __proto__: null,\n");
  const end = rest.indexOf("\n    };\n");
  const seen = new Set();
  const imports = rest.slice(0, end).split(/^(?= {8}\w+: function)/m).map((one) => {
    const long = one.match(/\w+/)[0];
    if (!names.has(long)) return "";
    seen.add(long);
    return one.replace(long, `"${names.get(long)}"`);
  });
  const text = `${head}    const import0 = {\n        __proto__: null,\n${imports.join("")}${rest.slice(end)}`
    .replace(/^export class IntoUnderlying[^]*?^}\n/gm, "")
    .replace(/^if .*IntoUnderlying.*\n/gm, "")
    .replace(/^const IntoUnderlying\w+Finalization[^]*?;\n/gm, "")
    .replace(`"${module}": import0`, '"w": import0');
  const missing = [...names.keys()].filter((long) => !seen.has(long));
  if (missing.length > 0) throw new Error(`the script does not have ${missing.join(", ")}`);
  return text;
}
