// A class that was left, slept through or disturbed goes on where it has to.
import assert from "node:assert/strict";
import { test } from "node:test";
import { at, brief, demo, house, link, read, seconds, segments, setHidden, start } from "./app.mjs";
import { runFor } from "./lib.mjs";

const app = house();
const { address, visit } = app;

/** One frame of a screen at 60 Hz, in ms. */
const FRAME = 17;

/** Starts the plan of two minutes and follows it to 21.5 s: work on the first move, 6.5 s in. */
async function midClass(page) {
  await start(page, address("two-minutes"));
  await runFor(page, 21_500, 500);
  assert.deepEqual(glance(await read(page)), ["work", "Half squat", 4]);
}

const glance = ({ phase, move, seconds: left }) => [phase, move, left];

/** Lets the wall clock jump while performance.now and all timers stand, as some phones do in sleep. */
async function setWallClock(page, ms) {
  const now = await page.evaluate(() => Date.now());
  await page.clock.setSystemTime(now + ms);
}

test("after a reload in mid-class the large button resumes, and counts in at the same second", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.match(await page.textContent(at("left-off")), /You left Two minutes at the quay at 0:2[12]/);
    await runFor(page, 45_000, 1000);
    assert.match(await page.textContent(at("start")), /^Resume at 0:2[12]$/);
    await page.click(at("start"));
    const back = await read(page);
    assert.deepEqual([...glance(back), back.stands], ["work", "Half squat", 4, "On in 3"]);
    await page.clock.runFor(2_999);
    assert.equal((await read(page)).stands, "On in 1");
    // The count-in is over in 1 ms; 3.5 s of the work are left.
    await page.clock.runFor(1 + 499);
    assert.equal(await seconds(page), 4);
    await page.clock.runFor(1 + FRAME);
    assert.equal(await seconds(page), 3);
  }));

test("the class that was gone on with after a reload is done in whole, with the time between as a pause", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.reload();
    await runFor(page, 10_000, 1000);
    await page.click(at("start"));
    await runFor(page, 3_000 + 98_500 + FRAME, 1000);
    await page.waitForSelector(at("done"));
    const text = await page.innerText(at("done"));
    assert.match(text, /Worked\s+1:10/);
    assert.match(text, /Class time\s+2:00/);
    assert.match(text, /Paused\s+0:13/);
    assert.match(text, /^7 of 7 work intervals in full/m);
  }));

test("after a reload a start anew is small, and asks", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.reload();
    await page.waitForSelector(at("brief"));
    await page.click(at("start-anew"));
    assert.equal((await read(page)).screen, "brief");
    await page.clock.runFor(300);
    await page.click(at("start-anew"));
    assert.equal((await read(page)).screen, "brief", "a double tap is one touch");
    await page.clock.runFor(700);
    await page.click(at("start-anew"));
    assert.equal((await read(page)).screen, "class");
    assert.equal(await seconds(page), 5);
  }));

test("a double tap on Start touches nothing of the class", () =>
  visit({}, async (page) => {
    for (const after of [80, 350, 690]) {
      await page.goto("about:blank");
      await brief(page, address("two-minutes"));
      const { x, y, width, height } = await page.locator(at("start")).boundingBox();
      await page.mouse.click(x + width / 2, y + height / 2);
      await page.waitForSelector(at("class"));
      await page.clock.runFor(after);
      await page.mouse.click(x + width / 2, y + height / 2);
      await page.clock.runFor(20);
      const shown = await read(page);
      assert.deepEqual([shown.screen, shown.help, shown.stands], ["class", false, ""], `${after} ms`);
      await page.clock.runFor(1_000);
      await page.click(at("unwell"));
      await page.click(at("end"));
      await page.waitForSelector(at("done"));
    }
  }));

test("a second touch on End within a double tap does not end the class, and Done leads back for two minutes", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.click(at("pause"));
    await page.click(at("end-class"));
    await page.clock.runFor(300);
    await page.click(at("end-class"));
    assert.equal((await read(page)).screen, "class");
    await page.clock.runFor(1_000);
    await page.click(at("end-class"));
    await page.waitForSelector(at("done"));
    await runFor(page, 60_000, 5_000);
    await page.click(at("back-to-class"));
    await page.waitForSelector(at("class"));
    assert.match((await read(page)).stands, /On in 3/);
    await page.clock.runFor(4_000);
    await page.click(at("pause"));
    await page.click(at("end-class"));
    await page.clock.runFor(1_000);
    await page.click(at("end-class"));
    await page.waitForSelector(at("done"));
    await runFor(page, 121_000, 5_000);
    assert.equal(await page.locator(at("back-to-class")).count(), 0);
  }));

test("a phone that slept for ten minutes asks whether the member kept going, and leads back in one touch", () =>
  visit({}, async (page) => {
    await start(page, address("quay-pyramid"));
    await runFor(page, 60_000, 1_000);
    const before = await read(page);
    await setHidden(page, true);
    await page.clock.fastForward(600_000);
    await setHidden(page, false);
    await page.clock.runFor(FRAME);
    await page.waitForSelector(`${at("away")}[open]`);
    assert.match(await page.innerText(at("away")), /10 min/);
    await page.click(at("return"));
    await page.clock.runFor(3_000 + FRAME);
    const after = await read(page);
    assert.deepEqual([after.move, after.phase], [before.move, before.phase]);
    assert.ok(Math.abs(after.seconds - before.seconds) <= 1);
  }));

test("a class that is let go is not offered again", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.reload();
    await page.click(at("discard-left"));
    assert.equal(await page.locator(at("left-off")).count(), 0);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.equal(await page.locator(at("left-off")).count(), 0);
  }));

test("a class that was paused is offered at the second of its pause", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.click(at("pause"));
    await runFor(page, 30_000, 1000);
    await page.reload();
    await page.click(at("start"));
    assert.deepEqual(glance(await read(page)), ["work", "Half squat", 4]);
  }));

test("a class that is done, or was ended, is not offered again", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.click(at("unwell"));
    await page.click(at("end"));
    await page.waitForSelector(at("done"));
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.equal(await page.locator(at("left-off")).count(), 0);
  }));

test("a browser that crashes loses five seconds of class at most", () =>
  visit({}, async (page) => {
    await midClass(page);
    // No page is told of its own crash: what is stored is what was stored before.
    const crashed = page.waitForEvent("crash");
    await page.goto("chrome://crash").catch(() => {});
    await crashed;
    // The clock is the context's: it stands at the same instant in the new page.
    const next = await page.context().newPage();
    await next.goto(app.url);
    const [, minutes, rest] = (await next.textContent(at("left-off"))).match(/at (\d+):(\d\d)/);
    const left = 60 * Number(minutes) + Number(rest);
    assert.ok(left >= 16 && left <= 22, `left at ${left} s, was at 21.5 s`);
    await next.click(at("resume-left"));
    assert.equal((await read(next)).screen, "class");
  }));

test("a stored run that can't be read is passed over", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.goto("about:blank");
    await page.goto(app.url);
    await page.waitForSelector(at("left-off"));
    const damage = (how) =>
      page.evaluate((how) => {
        for (const key of Object.keys(localStorage)) {
          const was = localStorage.getItem(key);
          localStorage.setItem(key, { cut: was.slice(0, was.length / 2), empty: "", null: "null", list: "[1,2" }[how]);
        }
      }, how);
    for (const how of ["cut", "empty", "null", "list"]) {
      await damage(how);
      await page.reload();
      await page.waitForSelector(at("classes"));
      assert.equal(await page.locator(at("left-off")).count(), 0, how);
      assert.ok(await demo(page, "Harbour lunch class").isVisible(), how);
    }
  }));

test("a demo that was opened by a touch is open again after a reload", () =>
  visit({}, async (page) => {
    await page.goto(app.url);
    await demo(page, "Harbour lunch class").click();
    await page.waitForSelector(at("brief"));
    await page.reload();
    await page.waitForSelector(`${at("brief")}, ${at("classes")}`);
    assert.equal((await read(page)).screen, "brief");
    assert.equal(await page.textContent("h1"), "Harbour lunch class");
  }));

test("back to all classes, and a reload, show all classes", () =>
  visit({}, async (page) => {
    await brief(page, address("two-minutes"));
    await page.getByRole("button", { name: "All classes" }).click();
    await page.waitForSelector(at("classes"));
    await page.reload();
    await page.waitForSelector(at("classes"));
  }));

const lunch = segments("harbour-lunch");
/** What is shown at a class time: the phase, the exercise and the seconds left, by the reference. */
function shownAt(ms) {
  const here = lunch.find((segment) => ms < segment.end);
  return [here.kind, here.name, Math.ceil((here.end - ms) / 1000)];
}

test("a page that was hidden for ten minutes is right on the first frame after", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    await runFor(page, 20_000, 1000);
    await setHidden(page, true);
    // Browsers fire a late timer once and drop what was due between.
    await page.clock.fastForward(600_000);
    await setHidden(page, false);
    assert.deepEqual(glance(await read(page)), shownAt(620_000));
    await page.clock.runFor(1_000 + FRAME);
    assert.equal(await seconds(page), shownAt(621_000)[2]);
  }));

test("a phone that slept for ten minutes, its monotonic clock too, is right on the first frame after", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    await runFor(page, 20_000, 1000);
    await setHidden(page, true);
    await setWallClock(page, 600_000);
    await setHidden(page, false);
    assert.deepEqual(glance(await read(page)), shownAt(620_000));
  }));

test("a class that ended in the sleep is done on the first frame after", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await runFor(page, 20_000, 1000);
    await setHidden(page, true);
    await setWallClock(page, 3_600_000);
    await setHidden(page, false);
    await page.waitForSelector(at("done"));
    // Nobody saw it: it counts once the member says so.
    assert.match(await page.innerText(at("done")), /Worked\s+0:05/);
    assert.match(await page.innerText(at("away-done")), /60 min, from Half squat on/);
    await page.click(at("kept-going"));
    await page.waitForFunction(() => /Class time\s+2:00/.test(document.body.innerText));
    assert.equal(await page.locator(at("away-done")).count(), 0);
  }));

test("a wall clock that is set forward or back in class does not move it", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    await runFor(page, 12_000, 1000);
    for (const ms of [-3_600_000, 600_000, 86_400_000]) {
      await setWallClock(page, ms);
      const before = await seconds(page);
      await runFor(page, 2_000);
      const { phase, seconds: left } = await read(page);
      assert.deepEqual([phase, left], ["work", before - 2]);
    }
  }));

test("a wall clock that is set back, or corrected a little, while the page is hidden does not move the class", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    await runFor(page, 12_000, 1000);
    for (const ms of [-3_600_000, 1_500]) {
      await setHidden(page, true);
      await setWallClock(page, ms);
      await setHidden(page, false);
      assert.deepEqual(glance(await read(page)), ["work", lunch[1].name, 28]);
    }
  }));

test("a link to another class that is touched in mid-class does not disturb it", () =>
  visit({}, async (page) => {
    await midClass(page);
    await page.evaluate((text) => { location.hash = `plan=${text}`; }, link("every-kind"));
    await runFor(page, 1_000);
    assert.deepEqual(glance(await read(page)), ["work", "Half squat", 3]);
    await page.evaluate(() => { location.hash = "plan=damaged"; });
    await runFor(page, 1_000);
    assert.deepEqual(glance(await read(page)), ["work", "Half squat", 2]);
    assert.equal(await page.locator(at("error")).count(), 0);
    await runFor(page, 96_500, 1000);
    assert.equal((await read(page)).screen, "done");
    assert.match(await page.innerText(at("done")), /^Two minutes at the quay$/m);
  }));

test("a link to another class that is touched on Brief opens it", () =>
  visit({}, async (page) => {
    await brief(page, address("two-minutes"));
    await page.evaluate((text) => { location.hash = `plan=${text}`; }, link("every-kind"));
    await page.waitForFunction(() => document.querySelector("h1").textContent === "Every kind of block");
    await page.click(at("start"));
    assert.equal((await read(page)).seconds, 5);
  }));

test("a touch that starts the class works without storage", () =>
  visit({}, async (page) => {
    await page.context().addInitScript(() => {
      Object.defineProperty(window, "localStorage", { get() { throw new DOMException("denied", "SecurityError"); } });
    });
    await midClass(page);
  }));

test("a full storage costs the way back, not the class", () =>
  visit({}, async (page) => {
    await page.context().addInitScript(() => {
      Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); };
    });
    await midClass(page);
  }));
