// Whatever comes in a link: told apart, said in plain words, and never more than text.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { crc32, deflateRawSync, inflateRawSync } from "node:zlib";
import { addressOf, at, brief, demo, house, link, plan, read, start } from "./app.mjs";
import { runFor } from "./lib.mjs";

const app = house();
const { address, visit } = app;

/** The bytes of a link text and their parts, read with Node's own base64 (RFC 4648) and zlib (RFC 1951). */
function parts(text) {
  assert.match(text, /^[A-Za-z0-9_-]+$/);
  const bytes = Buffer.from(text, "base64url");
  // A postcard varint: seven bits a byte, the lowest first.
  let [length, used] = [0, 1];
  for (let shift = 0; ; shift += 7) {
    length |= (bytes[used] & 0x7f) << shift;
    used += 1;
    if (bytes[used - 1] < 0x80) break;
  }
  return {
    version: bytes[0], length, head: bytes.subarray(0, used), crc: bytes.readUInt32LE(used), body: bytes.subarray(used + 4),
  };
}

/** The preset dictionary, from the words of its source. */
function dictionary() {
  const source = readFileSync(new URL("../../src/link/dictionary.rs", import.meta.url), "utf8");
  const words = source.slice(source.indexOf("concat!("), source.indexOf(");\n"));
  const literals = [...words.matchAll(/"((?:[^"\\]|\\.)*)"/g)].map((match) => match[1]);
  const text = literals.join("").replaceAll("\\u{1}", "\u0001");
  assert.ok(!text.includes("\\"), "an escape that this test does not know");
  return Buffer.from(text);
}

/** A link text from what is packed in it, made by Node alone. */
function made(payload, { version = 1, ...options } = {}) {
  const body = deflateRawSync(payload, options);
  const varint = [];
  for (let left = body.length; ; left >>= 7) {
    varint.push(left >= 0x80 ? (left & 0x7f) | 0x80 : left);
    if (left < 0x80) break;
  }
  const head = Buffer.from([version, ...varint]);
  const crc = Buffer.alloc(4);
  crc.writeUInt32LE(crc32(Buffer.concat([head, body])));
  return Buffer.concat([head, crc, body]).toString("base64url");
}

for (const name of ["harbour-lunch", "quay-pyramid", "chair-class", "every-kind"]) {
  test(`the link of ${name} is read by decoders that are not ours`, () => {
    const { version, length, head, crc, body } = parts(link(name));
    assert.equal(version, 1);
    assert.equal(length, body.length);
    // CRC-32 as in zlib is CRC-32 (ISO-HDLC).
    assert.equal(crc, crc32(Buffer.concat([head, body])));
    const packed = inflateRawSync(body, { dictionary: dictionary() });
    const { title, moves, kit = [], blocks } = plan(name);
    const texts = [
      title, ...kit.flatMap((one) => [one.name, ...(one.instead ?? [])]),
      ...moves.flatMap((move) => [move.name, move.how, ...(move.notes ?? []), move.caution ?? ""]),
      ...blocks.map((block) => block.say ?? ""),
    ];
    for (const text of texts) assert.ok(packed.includes(text), text);
  });
}

test("a link that another deflate packed is opened", () =>
  visit({}, async (page) => {
    const packed = inflateRawSync(parts(link("harbour-lunch")).body, { dictionary: dictionary() });
    for (const options of [{ dictionary: dictionary() }, {}, { level: 0 }]) {
      await page.goto("about:blank");
      await brief(page, addressOf(app.url, made(packed, options)));
      assert.equal(await page.textContent("h1"), "Harbour lunch class");
    }
  }));

const good = link("harbour-lunch");
const changed = (place) => good.slice(0, place) + (good[place] === "A" ? "B" : "A") + good.slice(place + 1);

/** What is wrong, the text of the address, and words that have to be said. */
const WRONG = [
  ["cut at its end", good.slice(0, -1), /cut|missing/],
  ["cut in the middle", good.slice(0, good.length / 2), /cut|missing/],
  ["cut to a few characters", good.slice(0, 9), /cut|missing|whole/],
  ["changed in the middle", changed(Math.floor(good.length / 2)), /changed|damaged/],
  ["changed in its checksum", changed(6), /changed|damaged/],
  ["longer than it says", `${good}AAAA`, /changed|damaged/],
  ["a word", "hello", /not the link of a class/],
  ["an address", encodeURIComponent("https://example.org/"), /not the link of a class/],
  ["percent signs", "%%%00%zz", /not the link of a class|changed/],
  ["empty", "", /no class/],
  ["100 kB long", "A".repeat(100_000), /longer than any class/],
  ["100 kB of a good start", good + "A".repeat(100_000), /longer than any class/],
  ["of a newer version", made(Buffer.from("later"), { version: 3 }), /newer/],
  ["whole, with nothing in it", made(Buffer.alloc(0)), /changed|damaged|can't be used/],
  ["whole, with zeros in it", made(Buffer.alloc(500)), /changed|damaged|can't be used/],
  ["a bomb of 60 MB", made(Buffer.alloc(60_000_000)), /changed|damaged|longer|can't be used/],
];

test("a link that is wrong is refused in plain words, and the classes stay in reach", () =>
  visit({}, async (page) => {
    for (const [what, text, words] of WRONG) {
      await page.goto("about:blank");
      await page.goto(addressOf(app.url, text));
      await page.waitForSelector(at("error"));
      const said = await page.textContent(at("error"));
      assert.match(said, words, what);
      assert.match(said, /Ask the coach|Update/, what);
      // No word of a programmer, and nothing of the link itself.
      assert.doesNotMatch(said, /base64|checksum|crc|deflate|varint|bytes|parse|invalid|error|undefined|null/i, what);
      assert.ok(said.length < 250, what);
      assert.ok(await demo(page, "Harbour lunch class").isVisible(), what);
    }
    await demo(page, "Harbour lunch class").click();
    await page.waitForSelector(at("brief"));
    assert.equal(await page.locator(at("error")).count(), 0);
  }));

test("an address without a plan shows the classes and no error", () =>
  visit({}, async (page) => {
    for (const fragment of ["", "#", "#at=2026-11-25T12:30:00Z"]) {
      await page.goto("about:blank");
      await page.goto(app.url + fragment);
      await page.waitForSelector(at("classes"));
      assert.equal(await page.locator(at("error")).count(), 0, fragment);
    }
  }));

test("a wrong link that is touched on Brief is refused", () =>
  visit({}, async (page) => {
    await brief(page, address("two-minutes"));
    await page.evaluate((text) => { location.hash = `plan=${text}`; }, good.slice(0, 100));
    await page.waitForSelector(at("error"));
    assert.match(await page.textContent(at("error")), /cut/);
  }));

test("further fields of the address do no harm", () =>
  visit({}, async (page) => {
    for (const fields of ["&at=never", "&x=<script>", "&plan2=1", "&&=&"]) {
      await page.goto("about:blank");
      await brief(page, address("two-minutes") + fields);
      assert.equal(await page.textContent("h1"), "Two minutes at the quay");
    }
  }));

test("a link with a line break in it leaves none in the address or the storage, and loses no run and no history", () =>
  visit({}, async (page) => {
    const whole = link("two-minutes");
    for (const put of ["%0A", "%0D%0A", "%E2%80%8B"]) {
      await page.goto("about:blank");
      await brief(page, addressOf(app.url, `${whole.slice(0, 60)}${put}${whole.slice(60)}`));
      assert.equal(await page.evaluate(() => location.hash), `#plan=${whole}`);
    }
    await page.click(at("start"));
    await page.clock.runFor(25_000);
    await page.reload();
    await page.waitForSelector(at("left-off"));
    await page.locator(`${at("left-off")} .strong`).click();
    await page.waitForSelector(at("class"));
    await page.clock.fastForward(200_000);
    await page.waitForSelector(at("done"));
    await page.click(at("to-history"));
    await page.waitForSelector(at("past"));
    const stored = await page.evaluate(() => Object.values(localStorage).join("\n"));
    assert.ok(stored.includes(whole));
  }));

test("a start on a day that there is not is told, and is not another day", () =>
  visit({}, async (page) => {
    for (const day of ["2026-02-30", "2027-02-29", "2026-04-31"]) {
      await page.goto("about:blank");
      await brief(page, `${address("two-minutes")}&at=${day}T12:30:00Z`);
      assert.match(await page.textContent(at("fault")), /start time in this link can't be read/);
      assert.equal(await page.locator(at("set-time")).count(), 0);
    }
  }));

test("a pasted link is read as messages write it", () =>
  visit({}, async (page) => {
    const whole = address("two-minutes");
    for (const text of [
      encodeURIComponent(whole),
      `${whole.slice(0, 90)}\u200b${whole.slice(90)}`,
      whole.match(/.{1,76}/g).join("\n"),
      // The last one: a link without a start would ask about this one.
      `${whole}&amp;at=2026-11-25T18:30:00Z`,
    ]) {
      await page.goto("about:blank");
      await page.goto(app.url);
      await page.fill(at("link-field"), text);
      await page.click(at("open-link"));
      await page.waitForSelector(at("brief"));
      assert.equal(await page.textContent("h1"), "Two minutes at the quay");
      assert.equal(await page.locator(at("set-time")).count(), text.includes("at=2026") ? 1 : 0);
    }
  }));

/** Words of the app's own that run from right to left: of letters but Q and X, which the plan's texts have. */
const reversed = (page) =>
  page.evaluate(() => {
    const found = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      for (const word of node.data.matchAll(/[A-PR-WYZa-z]{3,}/g)) {
        const x = (at) => {
          const range = document.createRange();
          range.setStart(node, at);
          range.setEnd(node, at + 1);
          const rect = range.getBoundingClientRect();
          return [rect.left, rect.top];
        };
        const [first, last] = [x(word.index), x(word.index + word[0].length - 1)];
        if (first[1] === last[1] && first[0] > last[0]) found.push(`${word[0]} in ${node.data}`);
      }
    }
    return found;
  });

test("a text that turns its direction turns none of the app's own words beside it", () =>
  visit({}, async (page) => {
    // An override that is never taken back, one behind an isolate that was never begun, and an embedding.
    const [a, b, c] = ["\u202eQQX", "\u2069\u202eXQX", "\u202bQXX"];
    const option = { id: "easy", level: "easier", name: b, notes: [a, c], kit: ["mat"] };
    const move = (id, name) => ({ id, name, sided: true, how: a, notes: [b, c], caution: a, kit: ["mat"], options: [option] });
    const turned = {
      format: "rungbook-plan", version: 1, id: "turned", title: a, coach: b, about: c,
      kit: [{ id: "mat", name: a, instead: [b, c] }],
      moves: [move("one", a), move("two", b)],
      blocks: [{ kind: "rounds", name: b, moves: ["one", "two"], rounds: 2, work: 20, rest: 10, break: 20, part: "main" }],
    };
    await page.goto(app.url);
    await page.setInputFiles(at("file-field"), { name: "turned.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(turned)) });
    await page.waitForSelector(at("brief"));
    await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
    assert.deepEqual(await reversed(page), [], "brief");
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("hand-out"));
    assert.deepEqual(await reversed(page), [], "hand out");
    await page.click(at("to-brief"));
    await page.click(at("start"));
    for (const wait of [1_000, 10_000, 20_000, 10_000]) {
      await page.clock.runFor(wait);
      assert.deepEqual(await reversed(page), [], "class");
    }
    await page.reload();
    await page.waitForSelector(at("left-off"));
    assert.deepEqual(await reversed(page), [], "left off");
    await page.locator(`${at("left-off")} .strong`).click();
    await page.waitForSelector(at("class"));
    await page.clock.fastForward(400_000);
    await page.waitForSelector(at("done"));
    assert.deepEqual(await reversed(page), [], "done");
    await page.click(at("to-history"));
    await page.waitForSelector(at("past"));
    assert.deepEqual(await reversed(page), [], "history");
  }));

test("a title that nobody sees counts as none", () =>
  visit({}, async (page) => {
    const blank = { ...plan("two-minutes"), id: "blank", title: "\u200b\u2060\ufeff", coach: "\u200b" };
    await page.goto(app.url);
    await page.setInputFiles(at("file-field"), { name: "blank.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(blank)) });
    await page.waitForSelector(at("brief"));
    assert.equal(await page.textContent("h1"), "Untitled class");
    assert.equal(await page.getByText(/^with /).count(), 0);
  }));

test("three hundred marks on one letter paint over nothing else", () =>
  visit({}, async (page) => {
    const marks = `e${"\u0301".repeat(300)}`;
    const { moves, blocks, kit, ...rest } = plan("two-minutes");
    const file = (put) => ({
      ...rest, id: `marks-${put.length}`, title: `Marks ${put}`, about: `About ${put}`,
      kit: kit?.map((one) => ({ ...one, name: `${one.name} ${put}` })),
      moves: moves.map((one) => ({ ...one, name: `${one.name} ${put}`, notes: [`A cue ${put}`] })),
      blocks: blocks.map((block) => ({ ...block, name: `A block ${put}` })),
    });
    const tall = [];
    for (const put of [marks, "e"]) {
      await page.goto("about:blank");
      await page.goto(app.url);
      const buffer = Buffer.from(JSON.stringify(file(put)));
      await page.setInputFiles(at("file-field"), { name: "marks.json", mimeType: "application/json", buffer });
      await page.waitForSelector(at("brief"));
      await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
      const boxes = await page.evaluate(() => {
        const texts = [...document.querySelectorAll(".page [dir=auto], .page bdi")];
        return texts.filter((one) => one.textContent.includes("\u0301") && !one.closest(".notes"))
          .map((one) => getComputedStyle(one).overflow);
      });
      if (put === marks) {
        assert.ok(boxes.length > 4);
        assert.deepEqual([...new Set(boxes)], ["clip"]);
      }
      tall.push(await page.evaluate(() => document.documentElement.scrollHeight));
    }
    assert.equal(tall[0], tall[1]);
  }));

/** What a text of a plan could have become, had it not been a text. */
const breaches = (page) =>
  page.evaluate(() => ({
    breached: "breached" in window,
    elements: [...document.body.querySelectorAll(
      "img, iframe, a, style, script:not([type=module]), marquee, object, embed, [onload], [onerror], [srcdoc]",
    )].map((element) => element.outerHTML.slice(0, 80)),
    hidden: [...document.querySelectorAll("main")].some((main) => getComputedStyle(main).display === "none"),
  }));
const NONE = { breached: false, elements: [], hidden: false };

/** A page that holds what it is given: nothing to scroll sideways. */
const sideways = (page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

test("a hostile plan is text on Brief, with all its details open", () =>
  visit({ width: 320, height: 568 }, async (page) => {
    await brief(page, address("hostile"));
    await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
    assert.deepEqual(await breaches(page), NONE);
    assert.equal(await page.textContent("h1"), plan("hostile").title);
    const text = await page.textContent(at("brief"));
    for (const { name } of [...plan("hostile").moves, ...plan("hostile").kit]) assert.ok(text.includes(name), name.slice(0, 40));
    assert.equal(await sideways(page), 0);
  }));

test("a hostile plan is text in each segment of Class, and on Done", () =>
  visit({}, async (page) => {
    const { title, moves } = plan("hostile");
    await start(page, address("hostile"));
    const seen = new Set();
    for (let shown = await read(page); shown.screen === "class"; shown = await read(page)) {
      seen.add(shown.move);
      assert.deepEqual(await breaches(page), NONE);
      assert.equal(await sideways(page), 0);
      await page.click(at("skip"));
    }
    for (const { name } of moves) assert.ok([...seen].some((move) => move === name.trim()), name.slice(0, 40));
    assert.equal(await page.title(), `${title} · Rungbook`);
    await page.waitForSelector(at("done"));
    assert.deepEqual(await breaches(page), NONE);
    assert.ok((await page.textContent(at("done"))).includes(title));
    assert.equal(await sideways(page), 0);
  }));

test("braces of a side are filled once, and only where they are right", () =>
  visit({}, async (page) => {
    await start(page, address("hostile"));
    await page.click(at("skip"));
    await page.click(at("skip"));
    await runFor(page, 500);
    const [markup, , entities] = plan("hostile").moves[0].notes;
    assert.deepEqual((await read(page)).notes, [markup, "working{working}other", entities]);
  }));
