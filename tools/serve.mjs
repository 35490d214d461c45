// Serves a folder as a plain static host would. The end-to-end tests and `make serve` share it.
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { networkInterfaces } from "node:os";
import { fileURLToPath } from "node:url";

// The packages belong to tests/, and an import from here would not look there.
const sirv = createRequire(new URL("../tests/package.json", import.meta.url))("sirv");

/**
 * Serves `dir`. The list of files is read once, at the start.
 * @returns {Promise<{url: string, port: number, close: () => Promise<void>}>} port 0 takes a free one
 */
export async function serve(dir, { host = "127.0.0.1", port = 0 } = {}) {
  const files = sirv(dir, { dev: false, etag: true });
  const server = createServer((request, response) => {
    // The browser asks again each time, so that a rebuilt app is never mixed with an old one.
    response.setHeader("Cache-Control", "no-cache");
    files(request, response, () => {
      response.statusCode = 404;
      response.end("Not found\n");
    });
  });
  await new Promise((resolve, reject) => {
    server.once("error", reject).listen(port, host, resolve);
  });
  const bound = server.address().port;
  return {
    url: `http://${host === "0.0.0.0" ? "127.0.0.1" : host}:${bound}/`,
    port: bound,
    close: () =>
      new Promise((resolve) => {
        server.close(resolve);
        server.closeAllConnections();
      }),
  };
}

async function main() {
  const host = process.env.HOST || "127.0.0.1";
  const port = Number(process.env.PORT || 8080);
  const dist = fileURLToPath(new URL("../dist", import.meta.url));
  let site;
  try {
    site = await serve(dist, { host, port });
  } catch (error) {
    if (error.code !== "EADDRINUSE") throw error;
    console.error(`Port ${port} is taken. Choose another: make serve PORT=8081`);
    process.exit(1);
  }
  console.log(`Rungbook is at ${site.url} (Ctrl-C stops it)`);
  if (host === "0.0.0.0") {
    for (const { family, internal, address } of Object.values(networkInterfaces()).flat()) {
      if (family === "IPv4" && !internal) console.log(`From your phone: http://${address}:${site.port}/`);
    }
    console.log("Over plain http a phone can't install the app, go offline or keep its screen on: that takes https.");
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await main();
