// The copy of the app that stays on the phone: when it is whole, what it does without a host, how a newer
// version comes, what the page is forbidden, and how the app is installed and handed things.
//
// Held against: the Service Workers, Web App Manifest and Content Security Policy specifications as Chromium
// does them, its own report on installing, and the bytes of the folder that is served.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createServer, request as ask } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";
import { finish } from "../../tools/offline.mjs";
import { serve } from "../../tools/serve.mjs";
import { addressOf, at, demo, link, NOON, segments } from "./app.mjs";
import { axe, DIST, browser as launch, fakeClock, openPage, runFor } from "./lib.mjs";

const SAVED = "Saved on this phone: works without a network.";
const filesOf = (dir) =>
  readdirSync(dir, { recursive: true })
    .filter((path) => statSync(join(dir, path)).isFile())
    .sort();
const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex");

let browser;
let root;
before(async () => {
  browser = await launch();
  root = mkdtempSync(join(tmpdir(), "rungbook-offline-"));
});
after(async () => {
  await browser?.close();
  rmSync(root, { recursive: true, force: true });
});

/** A host of its own for a copy of the build, that can be stopped, changed and started at the same address. */
async function host(t, under = "") {
  const folder = mkdtempSync(join(root, "host-"));
  const dir = join(folder, under);
  cpSync(DIST, dir, { recursive: true });
  let site = await serve(folder);
  const { port, url } = site;
  t.after(() => site?.close());
  return {
    dir,
    url: url + under,
    origin: new URL(url).origin,
    stop: async () => {
      await site.close();
      site = null;
    },
    start: async () => {
      await site?.close();
      site = await serve(folder, { port });
    },
  };
}

/** A page whose clock stands at noon, and the check that it troubled nobody. */
async function visit(t, home, options) {
  const page = await openPage(browser, options);
  page.setDefaultTimeout(15_000);
  await fakeClock(page, NOON);
  t.after(async () => {
    await page.context().close();
    assert.deepEqual(page.outside.filter((address) => new URL(address).origin !== home.origin), [], "asked another host");
    assert.deepEqual(page.pageErrors, []);
  });
  return page;
}

async function openDemo(page) {
  await demo(page, "Harbour lunch class").click();
  await page.waitForSelector(at("brief"));
}

const keptIs = (page, words) => page.locator(at("kept"), { hasText: words }).waitFor();

/** What the page finds in its storage: the address of each kept file and the hash of its bytes, by copy. */
function copies(page) {
  return page.evaluate(async () => {
    const hex = (buffer) => [...new Uint8Array(buffer)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    const found = {};
    for (const name of await caches.keys()) {
      const cache = await caches.open(name);
      found[name] = {};
      for (const { url } of await cache.keys()) {
        const body = await (await cache.match(url)).arrayBuffer();
        found[name][url] = hex(await crypto.subtle.digest("SHA-256", body));
      }
    }
    return found;
  });
}

/** What has to be kept of a folder: all but the worker, which the browser keeps itself, and the screenshots. */
function wanted(home) {
  const kept = filesOf(home.dir).filter((path) => path !== "worker.js" && !path.startsWith("install/screen-"));
  const address = (path) => new URL(path === "index.html" ? "./" : path, home.url).href;
  return Object.fromEntries(kept.map((path) => [address(path), sha256(readFileSync(join(home.dir, path)))]));
}

/** Another build: one more byte in a stylesheet, under its new name and hash, as the build would write it. */
function rebuild({ dir }) {
  const sheet = filesOf(dir).find((path) => /^page-.*\.css$/.test(path));
  const newer = sheet.replace(/page-.*\.css/, "page-0000000000000000.css");
  const text = `${readFileSync(join(dir, sheet), "utf8")}\n`;
  renameSync(join(dir, sheet), join(dir, newer));
  writeFileSync(join(dir, newer), text);
  const integrity = `sha384-${createHash("sha384").update(text).digest("base64")}`;
  const page = join(dir, "index.html");
  const html = readFileSync(page, "utf8").replace(new RegExp(`${sheet}" integrity="[^"]*"`), `${newer}" integrity="${integrity}"`);
  assert.ok(html.includes(newer), "the page names the newer stylesheet");
  writeFileSync(page, html);
  return { newer, ...finish(dir) };
}

/** Another build of the program itself: every module under another name, as another hash would give it. */
function reprogram({ dir }) {
  const hash = filesOf(dir).find((path) => /^rungbook-.*\.js$/.test(path)).match(/-([0-9a-f]+)\./)[1];
  const other = "0".repeat(hash.length);
  for (const path of filesOf(dir)) {
    const bytes = readFileSync(join(dir, path), "latin1");
    if (bytes.includes(hash)) writeFileSync(join(dir, path), bytes.replaceAll(hash, other), "latin1");
    if (path.includes(hash)) renameSync(join(dir, path), join(dir, path.replace(hash, other)));
  }
  // The script that starts it has another hash in the policy then.
  return finish(dir);
}

const sheets = (page) => page.evaluate(() => [...document.styleSheets].map((sheet) => new URL(sheet.href).pathname.split("/").pop()));

describe("without a host", () => {
  test("after one visit the app opens, shows a class and runs it", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    assert.deepEqual(Object.values(await copies(page)), [wanted(home)]);
    const brief = page.url();

    await home.stop();
    await page.reload();
    await page.waitForSelector(at("brief"));
    await keptIs(page, SAVED);
    assert.equal(page.url(), brief);
    // What messengers put into an address, and the name that some hosts show.
    for (const address of ["", "?from=chat", "index.html", "?from=chat#classes="]) {
      await page.goto(home.url + address);
      await page.waitForSelector(at("classes"));
    }
    await openDemo(page);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    const first = Number(await page.textContent(at("seconds")));
    await runFor(page, 3_000);
    assert.equal(Number(await page.textContent(at("seconds"))), first - 3);
  });

  test("the desk, the library and what is handed out are there too", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);

    await home.stop();
    await page.goto(home.url);
    await page.click(at("to-desk"));
    await page.click(at("new-class"));
    await page.click(at("add-rounds"));
    await page.click(at("pick-glute-bridge"));
    await page.click(at("add-chosen"));
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("code"));
    // The class that was just written refers to the library, and opens without a host all the same.
    await page.reload();
    await page.waitForSelector(at("brief"));
    await page.click(at("how-hard"));
    await page.waitForSelector(at("effort"));
  });

  test("without the parts that come later it says so, and what is there goes on", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.addInitScript(() => delete Navigator.prototype.serviceWorker);
    await page.goto(home.url);
    await openDemo(page);
    await home.stop();
    await page.click(at("to-hand-out"));
    assert.match(await page.textContent(at("missing")), /not on the phone yet/);
    await home.start();
    await page.getByRole("button", { name: "All classes" }).click();
    await openDemo(page);
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("hand-out"));
  });

  for (const [how, back] of [
    ["by itself after a while", async (page) => page.clock.runFor(10_500)],
    ["as soon as the browser tells of a network", async (page) => page.evaluate(() => dispatchEvent(new Event("online")))],
    ["on a touch", async (page) => page.click(at("ask-again"))],
  ]) {
    test(`a first visit that loses its network in class says what is kept, and Done comes ${how}`, async (t) => {
      const home = await host(t);
      const page = await visit(t, home);
      await page.addInitScript(() => delete Navigator.prototype.serviceWorker);
      await page.goto(addressOf(home.url, link("two-minutes")));
      await page.click(at("start"));
      await page.waitForSelector(at("class"));
      await home.stop();
      await page.clock.fastForward(segments("two-minutes").at(-1).end);
      assert.match(await page.textContent(at("missing")), /not on the phone yet.*comes by itself/);
      assert.match(await page.textContent(at("safe")), /What you did is kept on this phone/);
      assert.equal(await page.evaluate(() => Object.keys(localStorage).filter((key) => key.includes("/done/")).length), 1);
      assert.deepEqual(await axe(page), []);
      // Asked for in vain it stays as it was, and the class can be done again meanwhile.
      await page.clock.runFor(10_500);
      assert.equal(await page.locator(at("missing")).count(), 1);
      await page.getByRole("button", { name: "All classes" }).click();
      assert.match(await page.textContent(at("safe")), /What is kept on this phone stays there/);
      await page.getByRole("button", { name: "Back to this class" }).click();
      await page.click(at("start"));
      await page.waitForSelector(at("class"));
      await page.clock.fastForward(segments("two-minutes").at(-1).end);
      await page.waitForSelector(at("missing"));
      await home.start();
      await back(page);
      await page.waitForSelector(at("rate-5"));
      assert.equal(await page.locator(at("missing")).count(), 0);
      await page.click(at("rate-5"));
      await page.click(at("to-history"));
      await page.waitForSelector(at("past"));
      assert.equal(await page.locator(at("past")).count(), 2);
    });
  }

  test("under a path of a host that holds other things", async (t) => {
    const home = await host(t, "deep/app/");
    const page = await visit(t, home);
    writeFileSync(join(home.dir, "../../index.html"), "<!doctype html><title>Another page</title>");
    await home.start();
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    assert.deepEqual(Object.values(await copies(page)), [wanted(home)]);
    await home.stop();
    await page.reload();
    await keptIs(page, SAVED);
    // What is not ours is not answered for.
    await assert.rejects(page.goto(`${home.origin}/`), /ERR_CONNECTION_REFUSED/);
    await assert.rejects(page.goto(`${home.url}elsewhere/`), /ERR_CONNECTION_REFUSED/);
  });
});

/** Stands before a host and notes what is asked and answered, as `304 /worker.js`. */
async function gate(t, home) {
  const seen = [];
  const server = createServer((request, response) => {
    const { method, url, headers } = request;
    const onward = ask(home.origin + url, { method, headers }, (answer) => {
      seen.push(`${answer.statusCode} ${url}`);
      response.writeHead(answer.statusCode, answer.headers);
      answer.pipe(response);
    });
    request.pipe(onward);
  });
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  t.after(() => new Promise((done) => {
    server.close(done);
    server.closeAllConnections();
  }));
  return { seen, origin: `http://127.0.0.1:${server.address().port}` };
}

describe("saved", () => {
  test("costs the first visit little: no file is sent twice", async (t) => {
    const home = await host(t);
    const way = await gate(t, home);
    const page = await visit(t, way);
    await page.goto(`${way.origin}/`);
    await openDemo(page);
    await keptIs(page, SAVED);
    const sent = way.seen.filter((line) => line.startsWith("200 ")).map((line) => line.slice(4));
    assert.deepEqual(sent.filter((path, i) => sent.indexOf(path) !== i), []);
    assert.ok(sent.some((path) => path.endsWith(".wasm")));
    assert.deepEqual(way.seen.filter((line) => !/^(200|304) /.test(line)), [], "nothing is asked for that is not there");
  });

  const harm = {
    "a missing file": (path) => rmSync(path),
    "a file with other bytes": (path) => writeFileSync(path, readFileSync(path).fill(32)),
  };
  for (const [what, damage] of Object.entries(harm)) {
    test(`is not said with ${what}, and is once it came`, async (t) => {
      const home = await host(t);
      const page = await visit(t, home);
      const path = join(home.dir, "install/icon-512.png");
      const whole = readFileSync(path);
      damage(path);
      await home.start();
      await page.goto(home.url);
      await openDemo(page);
      await keptIs(page, "Not saved yet: the network broke off");
      assert.deepEqual(await axe(page), []);
      assert.ok(Object.values(await copies(page)).every((copy) => !(`${home.url}install/icon-512.png` in copy)));

      writeFileSync(path, whole);
      await home.start();
      await page.click(at("save-again"));
      await keptIs(page, SAVED);
      assert.deepEqual(Object.values(await copies(page)), [wanted(home)]);
    });
  }

  test("is no longer said when the phone threw a part away, until it is back", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    // The host goes first: with it the copy would be filled again at once.
    await home.stop();
    await page.evaluate(async () => {
      const [name] = await caches.keys();
      const copy = await caches.open(name);
      if (!(await copy.delete("install/icon-512.png"))) throw new Error("nothing was deleted");
    });
    await page.reload();
    await keptIs(page, "Not saved yet");
    await home.start();
    await page.click(at("save-again"));
    await keptIs(page, SAVED);
    assert.deepEqual(Object.values(await copies(page)), [wanted(home)]);
  });

  test("of a class that the phone has no room for, only the app is said to be", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.addInitScript(() => {
      Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); };
    });
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, "The app is saved on this phone, this class is not.");
  });

  test("means for an installed app that its storage is to stay, and for no other", async (t) => {
    const home = await host(t);
    for (const mode of ["standalone", "browser"]) {
      const page = await visit(t, home);
      await page.addInitScript((mode) => {
        window.persisted = 0;
        StorageManager.prototype.persist = async () => (window.persisted += 1) > 0;
        // Chromium's own emulation of media leaves this feature out.
        const real = window.matchMedia.bind(window);
        window.matchMedia = (query) => (query === "(display-mode: standalone)" ? { matches: mode === "standalone" } : real(query));
      }, mode);
      await page.goto(home.url);
      await openDemo(page);
      await keptIs(page, SAVED);
      assert.equal(await page.evaluate(() => window.persisted), mode === "standalone" ? 1 : 0, mode);
    }
  });

  test("is not said inside another app, without service workers, or from an address that is not secure", async (t) => {
    const home = await host(t);
    const inside = "This page runs inside another app and can't be kept. Open it in your browser to keep the class.";
    const agent = "Mozilla/5.0 (Linux; Android 14; Phone; wv) Mobile";
    const cases = [
      [{ userAgent: agent }, () => {}, inside],
      [{}, () => delete Navigator.prototype.serviceWorker, "This browser keeps nothing here"],
      [{}, () => Object.defineProperty(window, "isSecureContext", { get: () => false }), "Not saved: this address is not secure (https)"],
    ];
    for (const [options, script, words] of cases) {
      const page = await visit(t, home, options);
      await page.addInitScript(script);
      await page.goto(home.url);
      await openDemo(page);
      await keptIs(page, words);
      assert.equal(await page.locator(at("save-again")).count(), 0);
    }
  });
});

describe("a newer version", () => {
  const waits = (page) =>
    page.evaluate(async () => {
      const registration = await navigator.serviceWorker.getRegistration();
      await registration.update();
      const coming = registration.installing ?? registration.waiting;
      if (!coming) throw new Error("no newer version was found");
      while (coming.state === "installing") {
        await new Promise((done) => coming.addEventListener("statechange", done, { once: true }));
      }
      return coming.state;
    });

  test("waits while a class runs and through a reload, is offered, and is taken on a touch", async (t) => {
    const home = await host(t, "deep/app/");
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    const older = await copies(page);
    const before = await sheets(page);
    // Caches and storage of this host that are not ours: another app, and this one at another address.
    const foreign = ["another app", `rungbook ${home.origin}/deep/ 0123456789abcdef`, `rungbook ${home.origin}/deep/app/two/ 0123`];
    await page.evaluate((names) => Promise.all(names.map((name) => caches.open(name))), foreign);
    await page.evaluate(() => localStorage.setItem("of another app", "kept"));
    assert.equal(await page.locator(at("update")).count(), 0);
    await page.click(at("start"));
    await runFor(page, 65_000);

    const { newer, version } = rebuild(home);
    await home.start();
    await page.evaluate(() => { window.sameDocument = true; });
    assert.equal(await waits(page), "installed");
    const shown = await page.textContent(at("seconds"));
    await runFor(page, 5_000);
    assert.notEqual(await page.textContent(at("seconds")), shown);
    assert.equal(await page.locator(at("update")).count(), 0, "nothing is offered in a class");
    assert.equal(await page.evaluate(() => window.sameDocument), true);
    // The copy in use is untouched beside the newer one.
    const both = await copies(page);
    for (const [name, copy] of Object.entries(older)) assert.deepEqual(both[name], copy);
    assert.ok(`rungbook ${home.url} ${version}` in both);

    await page.reload();
    await page.waitForSelector(at("left-off"));
    assert.deepEqual(await sheets(page), before, "a reload goes on with the version in use");
    await page.click(`${at("left-off")} button.strong`);
    await page.waitForSelector(at("class"));
    assert.equal(await page.locator(at("update")).count(), 0, "nothing is offered in a class");
    await runFor(page, 10_000);
    await page.reload();
    const left = await page.textContent(`${at("left-off")} p`);

    await page.click(at("use-update"));
    await page.waitForFunction((name) => document.querySelector(`link[href*="${name}"]`), newer);
    await keptIs(page, SAVED);
    assert.equal(await page.textContent(`${at("left-off")} p`), left, "the class that was left is still known");
    assert.equal(await page.evaluate(() => localStorage.getItem("of another app")), "kept");
    assert.equal(await page.locator(at("update")).count(), 0);
    const found = await copies(page);
    assert.deepEqual(Object.keys(found).sort(), [`rungbook ${home.url} ${version}`, ...foreign].sort());
    assert.deepEqual(found[`rungbook ${home.url} ${version}`], wanted(home));

    await home.stop();
    await page.reload();
    await page.waitForSelector(at("left-off"));
    assert.ok((await sheets(page)).includes(newer));
  });

  test("is offered on Classes, Brief and Done, and another window's class goes on", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    const brief = page.url();
    rebuild(home);
    await home.start();
    assert.equal(await waits(page), "installed");
    await page.waitForSelector(`${at("brief")} ${at("update")}`);
    assert.deepEqual(await axe(page), []);
    await page.click(at("start"));
    await page.click(at("unwell"));
    await page.click(at("end"));
    await page.waitForSelector(`${at("done")} ${at("update")}`);
    await page.getByRole("button", { name: "All classes" }).click();
    await page.waitForSelector(`${at("classes")} ${at("update")}`);

    const second = await page.context().newPage();
    await second.goto(brief);
    await second.click(at("start"));
    await second.waitForSelector(at("class"));
    await second.evaluate(() => { window.sameDocument = true; });
    const reloaded = page.waitForEvent("load");
    await page.click(at("use-update"));
    await reloaded;
    await page.waitForSelector(at("classes"));
    await page.waitForFunction(() => navigator.serviceWorker.controller?.state === "activated");
    assert.equal(await second.evaluate(() => window.sameDocument), true);
    assert.equal(await second.locator(at("class")).count(), 1);
  });

  const OUTDATED = "Rungbook was updated while this page was open. Reload to go on; your class is kept.";

  test("a page that is older than its copy says so where a part is gone, and goes on after a reload", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    const title = await page.textContent("h1");
    reprogram(home);
    await home.start();
    // Another tab takes the newer version; this one stays as it was.
    const second = await page.context().newPage();
    await second.goto(home.url);
    assert.equal(await waits(second), "installed");
    const reloaded = second.waitForEvent("load");
    await second.click(at("use-update"));
    await reloaded;
    await second.waitForSelector(at("classes"));
    // The copy says which version there is without the host, too.
    await home.stop();
    await page.evaluate(() => { window.sameDocument = true; });
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("missing"));
    assert.equal(await page.textContent(at("missing")), OUTDATED);
    assert.equal(await page.locator(at("ask-again")).count(), 0);
    assert.deepEqual(await axe(page), []);
    await page.clock.runFor(30_000);
    assert.equal(await page.evaluate(() => window.sameDocument), true, "nothing reloads by itself");
    await page.click(at("reload"));
    await page.waitForSelector(at("brief"));
    assert.equal(await page.textContent("h1"), title);
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("hand-out"));
  });

  test("without a copy the host's newer version is told, and a sign-in page is not taken for one", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.addInitScript(() => delete Navigator.prototype.serviceWorker);
    await page.goto(addressOf(home.url, link("two-minutes")));
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    const whole = readFileSync(join(home.dir, "index.html"));
    for (const path of filesOf(home.dir)) if (path.startsWith("split_")) rmSync(join(home.dir, path));
    writeFileSync(join(home.dir, "index.html"), "<!doctype html><title>Sign in to the network</title>");
    await home.start();
    await page.clock.fastForward(segments("two-minutes").at(-1).end);
    await page.waitForSelector(at("missing"));
    assert.match(await page.textContent(at("missing")), /not on the phone yet/);
    writeFileSync(join(home.dir, "index.html"), whole);
    reprogram(home);
    await home.start();
    await page.click(at("ask-again"));
    await page.locator(at("missing"), { hasText: OUTDATED }).waitFor();
    assert.match(await page.textContent(at("safe")), /What you did is kept on this phone/);
  });

  test("a version that does not arrive whole is not offered, and the one in use stays whole", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    await openDemo(page);
    await keptIs(page, SAVED);
    const kept = wanted(home);
    const { newer } = rebuild(home);
    rmSync(join(home.dir, newer));
    await home.start();
    assert.equal(await waits(page), "redundant");
    await keptIs(page, SAVED);
    assert.equal(await page.locator(at("update")).count(), 0);
    await home.stop();
    await page.reload();
    await keptIs(page, SAVED);
    assert.deepEqual(Object.values(await copies(page))[0], kept);
  });
});

describe("installing", () => {
  test("Chromium finds nothing that keeps the app from being installed", async (t) => {
    const home = await host(t, "deep/app/");
    // Its private windows install nothing, and the other tests run in such.
    const args = JSON.parse(readFileSync(fileURLToPath(new URL("../../webdriver.json", import.meta.url)), "utf8"))["goog:chromeOptions"].args;
    const context = await chromium.launchPersistentContext(mkdtempSync(join(root, "profile-")), {
      executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
      args,
    });
    t.after(() => context.close());
    const page = context.pages()[0];
    await page.goto(home.url);
    await page.waitForSelector(at("classes"));
    const cdp = await context.newCDPSession(page);
    const { installabilityErrors } = await cdp.send("Page.getInstallabilityErrors");
    assert.deepEqual(installabilityErrors, []);
    const { url, errors, data } = await cdp.send("Page.getAppManifest");
    assert.deepEqual(errors, []);
    assert.equal(url, `${home.url}manifest.webmanifest`);
    assert.equal(JSON.parse(data).name, "Rungbook");
    const { appId } = await cdp.send("Page.getAppId");
    assert.equal(appId, home.url, "each address is an app of its own");
  });

  test("the pictures are what the manifest says, and small", () => {
    const manifest = JSON.parse(readFileSync(join(DIST, "manifest.webmanifest"), "utf8"));
    const pictures = [...manifest.icons, ...manifest.screenshots];
    assert.ok(pictures.length >= 5);
    for (const { src, sizes } of pictures) {
      const bytes = readFileSync(join(DIST, src));
      // PNG, third edition: the signature, then IHDR with the width and the height.
      assert.equal(bytes.subarray(0, 8).toString("latin1"), "\x89PNG\r\n\x1a\n");
      assert.equal(`${bytes.readUInt32BE(16)}x${bytes.readUInt32BE(20)}`, sizes, src);
      assert.ok(bytes.length < (src.includes("screen-") ? 60_000 : 4_000), `${src}: ${bytes.length} bytes`);
    }
  });

  test("the colours are those of the page", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    const ground = await page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue("--ground").trim());
    const meta = await page.getAttribute("meta[name=theme-color]", "content");
    const { background_color, theme_color } = JSON.parse(readFileSync(join(DIST, "manifest.webmanifest"), "utf8"));
    assert.deepEqual([background_color, theme_color, meta], [ground, ground, ground]);
  });
});

describe("the policy", () => {
  test("no script, style or request gets in, and the app runs under it", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    // What the policy stops is announced as a request all the same.
    page.on("requestfailed", (request) => {
      if (request.failure().errorText === "csp") page.outside = page.outside.filter((address) => address !== request.url());
    });
    await page.addInitScript(() => {
      window.violations = [];
      document.addEventListener("securitypolicyviolation", (event) => window.violations.push(event.effectiveDirective));
    });
    // As if a plan's text had got into the markup, before all else that could run.
    const path = join(home.dir, "index.html");
    writeFileSync(path, readFileSync(path, "utf8").replace("<body>", "<body><script>window.injected = true;</script>"));
    await home.start();
    await page.goto(home.url);
    await page.waitForSelector(at("classes"));
    assert.equal(await page.evaluate(() => window.injected), undefined);
    assert.deepEqual(await page.evaluate(() => window.violations.splice(0)), ["script-src-elem"]);

    const tried = await page.evaluate(async (foreign) => {
      const script = document.createElement("script");
      script.textContent = "window.injected = true";
      document.body.append(script);
      const image = document.createElement("img");
      image.setAttribute("onerror", "window.injected = true");
      image.src = `${foreign}/x.png`;
      document.body.append(image);
      document.body.setAttribute("style", "outline: 9px solid");
      const sheet = document.createElement("style");
      sheet.textContent = "body { outline: 9px solid }";
      document.head.append(sheet);
      const frame = document.createElement("iframe");
      frame.src = "data:text/html,hi";
      document.body.append(frame);
      const request = await fetch(`${foreign}/x`).then(() => "answered", () => "refused");
      const { setTimeout } = window[Symbol.for("rungbook.realTimers")];
      // In a turn of its own: in this one the debugger lifts the ban on eval.
      const code = await new Promise((done) => setTimeout(() => {
        try {
          done(eval("'ran'"));
        } catch {
          done("refused");
        }
      }, 0));
      const base = document.createElement("base");
      base.href = foreign;
      document.head.append(base);
      // Long enough for what was let in to run; the page's own clock stands.
      await new Promise((done) => setTimeout(done, 200));
      return { request, code, injected: window.injected, outline: getComputedStyle(document.body).outlineWidth, base: document.baseURI };
    }, "http://another-host.invalid");
    assert.equal(tried.request, "refused");
    assert.equal(tried.code, "refused");
    assert.equal(tried.injected, undefined);
    assert.notEqual(tried.outline, "9px");
    assert.equal(tried.base, page.url());
    const violations = new Set(await page.evaluate(() => window.violations.splice(0)));
    for (const directive of ["script-src-elem", "script-src", "img-src", "style-src-attr", "style-src-elem", "frame-src", "connect-src", "base-uri"]) {
      assert.ok(violations.has(directive), `${directive} was not refused: ${[...violations]}`);
    }
  });

  test("a class moves its ladder without a violation", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.addInitScript(() => {
      window.violations = [];
      document.addEventListener("securitypolicyviolation", (event) => window.violations.push(event.effectiveDirective));
    });
    await page.goto(home.url);
    await openDemo(page);
    await page.click(at("start"));
    const place = () => page.evaluate(() => getComputedStyle(document.querySelector(".here")).transform);
    const first = await place();
    await runFor(page, 120_000, 1_000);
    // The app sets styles through the object model, which the policy lets pass.
    assert.notEqual(await place(), first);
    assert.deepEqual(await page.evaluate(() => window.violations), []);
    assert.deepEqual(page.consoleErrors, []);
  });
});

describe("what is handed to the app", () => {
  /** The browser's queue of launches, as a test can fill it (Web App Launch Handler API). */
  const queue = () => {
    const launchQueue = { setConsumer: (consume) => { window.handOver = consume; } };
    Object.defineProperty(window, "launchQueue", { value: launchQueue });
  };
  const file = `{ "format": "rungbook-plan", "version": 1, "title": "Quay file", "moves": [ { "id": "squat", "name": "Squat" } ],
    "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 30 } ] }`;

  async function demoLink(page) {
    await openDemo(page);
    const address = page.url();
    assert.match(address, /#plan=/);
    const title = await page.textContent("h1");
    await page.getByRole("button", { name: "All classes" }).click();
    return { address, title };
  }

  test("a link opens in the window that is there, but not over a class", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.addInitScript(queue);
    await page.goto(home.url);
    const { address, title } = await demoLink(page);
    const hand = (targetURL) => page.evaluate((targetURL) => window.handOver({ targetURL, files: [] }), targetURL);
    await hand(address);
    await page.waitForSelector(at("brief"));
    assert.equal(await page.textContent("h1"), title);
    await hand(`${home.url}?classes`);
    await page.waitForSelector(at("classes"));
    await hand(`${home.url}#plan=cut`);
    await page.waitForSelector(at("error"));

    await openDemo(page);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await hand(`${home.url}?classes`);
    await hand(address);
    await runFor(page, 1_000);
    assert.equal(await page.locator(at("class")).count(), 1);
  });

  test("a file opens, and one that is too large is not read", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.addInitScript(queue);
    await page.goto(home.url);
    await page.waitForSelector(at("classes"));
    const hand = (text) =>
      page.evaluate(async (text) => {
        // A handle of the real kind, from the page's own file system.
        const folder = await navigator.storage.getDirectory();
        const handle = await folder.getFileHandle("class.rungbook.json", { create: true });
        const writable = await handle.createWritable();
        await writable.write(text);
        await writable.close();
        window.handOver({ targetURL: location.href, files: [handle] });
      }, text);
    await hand(file);
    await page.waitForSelector(at("brief"));
    assert.equal(await page.textContent("h1"), "Quay file");
    await hand(file + " ".repeat(256 * 1024));
    assert.match(await page.textContent(at("error")), /larger than any class/);
  });

  test("a shared message opens the link in it, and says so where there is none", async (t) => {
    const home = await host(t);
    const page = await visit(t, home);
    await page.goto(home.url);
    const { address, title } = await demoLink(page);
    const share = (text) => page.goto(`${home.url}?${new URLSearchParams({ title: "Class", text })}`);
    await share(`Come along on Thursday:\n${address} and bring water`);
    await page.waitForSelector(at("brief"));
    assert.equal(await page.textContent("h1"), title);
    assert.equal(page.url(), address, "the message does not stay in the address");
    await share("see you at noon");
    assert.match(await page.textContent(at("error")), /There is no class in this link/);
  });
});

describe("the build step", () => {
  const built = (files) => {
    const dir = mkdtempSync(join(root, "built-"));
    const page = '<!doctype html><head><meta charset="utf-8"><script type="module">go()</script></head>';
    for (const [path, text] of Object.entries({ "index.html": page, "a.css": "a", "install/icon.png": "i", "install/screen-x.png": "s", ...files })) {
      mkdirSync(join(dir, path, ".."), { recursive: true });
      writeFileSync(join(dir, path), text);
    }
    return dir;
  };

  test("lists what was built, and the version follows each byte and each name", () => {
    const { files, version } = finish(built());
    assert.deepEqual(files, ["a.css", "./", "install/icon.png"]);
    assert.equal(finish(built()).version, version);
    const others = [{ "a.css": "b" }, { "b.css": "a" }, { "install/icon.png": "I" }].map((files) => finish(built(files)).version);
    assert.equal(new Set([version, ...others]).size, 4);
    assert.equal(finish(built({ "install/screen-x.png": "S" })).version, version, "a screenshot makes no update");
  });

  test("a second run changes nothing", () => {
    const dir = built();
    finish(dir);
    const read = () => filesOf(dir).map((path) => [path, readFileSync(join(dir, path), "utf8")]);
    const once = read();
    finish(dir);
    assert.deepEqual(read(), once);
  });

  test("the policy comes first, with the hash of the boot script", () => {
    const dir = built();
    finish(dir);
    const html = readFileSync(join(dir, "index.html"), "utf8");
    assert.match(html, /<meta charset="utf-8">\n?<meta http-equiv="Content-Security-Policy"/);
    // echo -n 'go()' | openssl dgst -sha256 -binary | base64
    assert.ok(html.includes("'sha256-5KYv+PUboo5h+0+YAtGRPbwv5d/QxzHslP4YGnUaxRw='"));
  });

  test("styles and handlers in the markup stop the build", () => {
    for (const markup of ['<p style="color:red">', "<style>p{}</style>", '<body onload="go()">']) {
      const page = `<!doctype html><head><meta charset="utf-8"></head>${markup}`;
      assert.throws(() => finish(built({ "index.html": page })), /the policy forbids/);
    }
    assert.throws(() => finish(built({ "index.html": "<!doctype html>" })), /charset/);
  });
});
