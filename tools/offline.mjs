// The last step of a build (Trunk.toml runs it): gives the page its content security policy, and writes
// the service worker with the list of what was built. By hand: node tools/offline.mjs FOLDER
import { createHash } from "node:crypto";
import { readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { split } from "./split.mjs";

const WORKER = "worker.js";
// Only the browser's own install sheet shows these, and it is shown with a network.
const NOT_KEPT = /^install\/screen-/;

const sha256 = (bytes) => `sha256-${createHash("sha256").update(bytes).digest("base64")}`;

/** The page with its policy, as the first thing after the character set. */
function withPolicy(html) {
  const page = html.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>\n?/, "");
  const scripts = [...page.matchAll(/<script\b([^>]*)>([^]*?)<\/script>/g)]
    .filter(([, attributes]) => !/\bsrc=/.test(attributes))
    .map(([, , text]) => `'${sha256(text)}'`);
  const refused = page.match(/<style\b|<[^>]+\s(style|on[a-z]+)=/);
  if (refused) throw new Error(`index.html: the policy forbids styles and handlers in the markup: ${refused[0]}`);
  const policy = [
    "default-src 'none'",
    ["script-src 'self' 'wasm-unsafe-eval'", ...scripts].join(" "),
    "style-src 'self'",
    "img-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "connect-src 'self'",
    "media-src 'self' blob:",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");
  const charset = /<meta charset="utf-8">\n?/;
  if (!charset.test(page)) throw new Error('index.html: there is no <meta charset="utf-8"> to put the policy after');
  return page.replace(charset, (found) => `${found}<meta http-equiv="Content-Security-Policy" content="${policy}">\n`);
}

/** Writes the policy and the service worker into `dir`. Returns the version and what is kept. */
export function finish(dir) {
  const page = join(dir, "index.html");
  writeFileSync(page, withPolicy(readFileSync(page, "utf8")));

  const files = readdirSync(dir, { recursive: true })
    .map((path) => path.replaceAll("\\", "/"))
    .filter((path) => path !== WORKER && !NOT_KEPT.test(path) && statSync(join(dir, path)).isFile())
    .sort()
    // A host may answer index.html with a redirect to the folder, so the folder's address is what is kept.
    .map((path) => [path === "index.html" ? "./" : path, sha256(readFileSync(join(dir, path)))]);
  const list = `const FILES = ${JSON.stringify(files)};\n`;
  const code = readFileSync(new URL(WORKER, import.meta.url), "utf8");
  // Over the worker too: a copy is used by the worker that made it, and by no other.
  const version = createHash("sha256").update(list + code).digest("hex").slice(0, 16);
  writeFileSync(join(dir, WORKER), `const VERSION = "${version}";\n${list}${code}`);
  return { version, files: files.map(([path]) => path) };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const dir = process.argv[2] ?? process.env.TRUNK_STAGING_DIR;
  if (!dir) throw new Error("which folder? node tools/offline.mjs FOLDER");
  if (!process.argv[2]) await split(dir);
  const { version, files } = finish(dir);
  console.log(`offline copy ${version}: ${files.length} files`);
}
