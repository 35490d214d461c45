// Cuts the built program into what a member's first visit needs and the modules that come when they are
// asked for (src/app/shell/later.rs and parts/modules.rs mark them), and puts the files in the place of trunk's own.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { leanScript, shortNames, withoutUnused } from "./lean.mjs";

// The packages of tools stand with those of the tests.
const { minify } = createRequire(new URL("../tests/package.json", import.meta.url))("terser");
const minified = async (text) => (await minify(text, { module: true, ecma: 2020 })).code;

// What rustc's wasm32-unknown-unknown has on. The parts do not carry the list that the program had.
const FEATURES = ["bulk-memory", "bulk-memory-opt", "multivalue", "mutable-globals", "nontrapping-float-to-int", "reference-types", "sign-ext"];

const run = (command, ...args) => execFileSync(command, args, { stdio: ["ignore", "ignore", "inherit"] });

/** Replaces trunk's script and module in `dir` by ours. */
export async function split(dir) {
  const target = process.env.CARGO_TARGET_DIR ?? "target";
  const program = join(target, "wasm32-unknown-unknown/app/rungbook.wasm");
  const work = join(target, "split");
  rmSync(work, { recursive: true, force: true });
  const [parts, bound] = [join(work, "parts"), join(work, "bound")];
  mkdirSync(parts, { recursive: true });

  // One hash names all of them, because they refer to each other in a ring: over the program and what is made of it.
  const sources = [program, ...["split.mjs", "lean.mjs"].map((file) => new URL(file, import.meta.url))];
  const hash = sources
    .reduce((hash, source) => hash.update(readFileSync(source)), createHash("sha256"))
    .digest("hex")
    .slice(0, 16);
  const name = `rungbook-${hash}`;
  run("wasm-split-cli", program, parts, "--out-name", name);
  run("wasm-bindgen", join(parts, `${name}.wasm`), "--target", "web", "--no-typescript", "--keep-lld-exports", "--out-dir", bound, "--out-name", name);

  const module = join(bound, `${name}_bg.wasm`);
  writeFileSync(module, withoutUnused(readFileSync(module)));

  for (const file of readdirSync(dir)) if (/^rungbook-.*\.(js|wasm)$/.test(file)) rmSync(join(dir, file));
  const smaller = (from, to) =>
    run("wasm-opt", "-Oz", "--strip-producers", "--strip-target-features", "--strip-debug", ...FEATURES.map((on) => `--enable-${on}`), from, "-o", join(dir, to));
  smaller(module, `${name}_bg.wasm`);
  const [short, imports] = shortNames(readFileSync(join(dir, `${name}_bg.wasm`)), `./${name}_bg.js`);
  writeFileSync(join(dir, `${name}_bg.wasm`), short);

  // The two scripts name each other, and the second one the parts. The name of an import inside the wasm stays.
  const link = `parts-${hash}.js`;
  const names = new Map([["__wasm_split.js", link]]);
  for (const file of readdirSync(parts)) {
    if (!file.endsWith(".wasm") || file === `${name}.wasm`) continue;
    names.set(file, `${file.replace(/\.wasm$/, "")}-${hash}.wasm`);
    smaller(join(parts, file), names.get(file));
  }
  const renamed = (text) => [...names].reduce((text, [from, to]) => text.replace(new RegExp(`(from |URL\\()"\\./${from}"`, "g"), `$1"./${to}"`), text);
  writeFileSync(join(dir, link), await minified(renamed(readFileSync(join(parts, "__wasm_split.js"), "utf8"))));
  const script = leanScript(readFileSync(join(bound, `${name}.js`), "utf8"), `./${name}_bg.js`, imports);
  writeFileSync(join(dir, `${name}.js`), await minified(renamed(script)));

  const page = join(dir, "index.html");
  const html = readFileSync(page, "utf8")
    .replace(/rungbook-[0-9a-f]+(?=(_bg)?\.(js|wasm))/g, name);
  writeFileSync(page, html);
}
