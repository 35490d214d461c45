// Draws what the browser's install sheet shows: icons from style/icon.svg, screenshots from the app in dist.
// Run it by hand when the drawing or the screens change: tools/env.sh node tools/pictures.mjs
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { crc32, deflateSync } from "node:zlib";
import { fileURLToPath } from "node:url";
import { browser, fakeClock, openPage, runFor, serve } from "../tests/e2e/lib.mjs";

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const SVG = readFileSync(here("../style/icon.svg"), "utf8");
const GROUND = "#0b181e";

/** The 16 commonest colours of a PNG, and for each pixel the nearest of them. Runs in a page. */
async function toPalette(base64) {
  const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
  const { width, height } = image;
  const context = new OffscreenCanvas(width, height).getContext("2d");
  context.drawImage(image, 0, 0);
  const { data } = context.getImageData(0, 0, width, height);
  const pixel = (i) => (data[i] << 16) | (data[i + 1] << 8) | data[i + 2];
  const counts = new Map();
  for (let i = 0; i < data.length; i += 4) counts.set(pixel(i), (counts.get(pixel(i)) ?? 0) + 1);
  const palette = [...counts].sort((a, b) => b[1] - a[1]).slice(0, 16).map(([colour]) => colour);
  const channels = (colour) => [colour >> 16, (colour >> 8) & 255, colour & 255];
  const distance = (a, b) => channels(a).reduce((sum, c, i) => sum + (c - channels(b)[i]) ** 2, 0);
  const nearest = new Map();
  for (const colour of counts.keys()) {
    const best = palette.reduce((a, b) => (distance(colour, b) < distance(colour, a) ? b : a));
    nearest.set(colour, palette.indexOf(best));
  }
  const indexes = [];
  for (let i = 0; i < data.length; i += 4) indexes.push(nearest.get(pixel(i)));
  return { width, height, palette: palette.map(channels), indexes };
}

/** A PNG with a palette (PNG specification, third edition, colour type 3). */
function png({ width, height, palette, indexes }) {
  const chunk = (type, body) => {
    const tagged = Buffer.concat([Buffer.from(type), body]);
    const frame = Buffer.alloc(8);
    frame.writeUInt32BE(body.length, 0);
    frame.writeUInt32BE(crc32(tagged), 4);
    return Buffer.concat([frame.subarray(0, 4), tagged, frame.subarray(4)]);
  };
  const depth = [1, 2, 4, 8].find((bits) => palette.length <= 2 ** bits);
  const row = Math.ceil((width * depth) / 8) + 1;
  const raw = Buffer.alloc(row * height);
  indexes.forEach((index, i) => {
    const bit = (i % width) * depth;
    raw[Math.floor(i / width) * row + 1 + (bit >> 3)] |= index << (8 - depth - (bit & 7));
  });
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([depth, 3, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]),
    chunk("IHDR", header),
    chunk("PLTE", Buffer.from(palette.flat())),
    chunk("IDAT", deflateSync(raw, { level: 9 })),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

const chromium = await browser();
const painter = await chromium.newPage();
const site = await serve();
mkdirSync(here("../style/install"), { recursive: true });

async function write(name, shot) {
  const bytes = png(await painter.evaluate(toPalette, shot.toString("base64")));
  writeFileSync(here(`../style/install/${name}.png`), bytes);
  console.log(`${name}.png: ${bytes.length} bytes`);
}

// A mask may cut to a circle of four fifths of the width: the rungs then need more ground around them.
for (const [name, size, ground] of [["icon-180", 180, 0], ["icon-192", 192, 0], ["icon-512", 512, 0], ["icon-masked-512", 512, 42]]) {
  await painter.setViewportSize({ width: size, height: size });
  const box = `viewBox="${-ground} ${-ground} ${512 + 2 * ground} ${512 + 2 * ground}"`;
  const svg = SVG.replace(/viewBox="[^"]*"/, `${box} width="${size}" height="${size}" style="display:block"`);
  await painter.setContent(`<body style="margin:0;background:${GROUND}">${svg}`);
  await write(name, await painter.screenshot());
}

const page = await openPage(chromium, { deviceScaleFactor: 2 });
await fakeClock(page, "2026-11-25T12:00:00Z");
await page.goto(site.url);
await page.click("[data-testid=classes] .card");
await page.getByText("Saved on this phone").waitFor();
await write("screen-brief", await page.screenshot());
await page.click("[data-testid=start]");
await runFor(page, 1_000);
for (let n = 0; n < 60 && (await page.textContent("[data-testid=side]")) === ""; n += 1) {
  await page.click("[data-testid=skip]");
}
// The offer to undo the skips goes after a while; so does the first half of the work.
await page.click("[data-testid=pause]");
await runFor(page, 25_000);
await page.click("[data-testid=resume]");
await runFor(page, 9_000);
await write("screen-class", await page.screenshot());
await chromium.close();
await site.close();
