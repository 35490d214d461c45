// What can be measured of a screen: what leaves it, what is cut, what lies under something else, contrast.
// Each function runs in the page and returns a list of findings; an empty list is a good screen.

/** Elements of Class that leave the window, and whether anything scrolls. */
export const outside = (page) =>
  page.evaluate(() => {
    const found = [];
    const { documentElement: root } = document;
    const [width, height] = [root.clientWidth, root.clientHeight];
    if (root.scrollWidth > width) found.push(`scrolls sideways by ${root.scrollWidth - width}`);
    if (root.scrollHeight > height) found.push(`scrolls by ${root.scrollHeight - height}`);
    const main = document.querySelector(".class");
    if (main.scrollHeight > main.clientHeight) found.push(`Class is ${main.scrollHeight - main.clientHeight} too high`);
    if (main.scrollWidth > main.clientWidth) found.push(`Class is ${main.scrollWidth - main.clientWidth} too wide`);
    const clips = (element) => getComputedStyle(element).overflow !== "visible";
    for (const element of main.querySelectorAll("*")) {
      if (element.closest(".sr, dialog, svg")) continue;
      let { left, top, right, bottom } = element.getBoundingClientRect();
      for (let around = element.parentElement; around !== main; around = around.parentElement) {
        if (!clips(around)) continue;
        const box = around.getBoundingClientRect();
        [left, top] = [Math.max(left, box.left), Math.max(top, box.top)];
        [right, bottom] = [Math.min(right, box.right), Math.min(bottom, box.bottom)];
      }
      if (right - left < 1 || bottom - top < 1) continue;
      if (left < -1 || top < -1 || right > width + 1 || bottom > height + 1) {
        found.push(`${element.tagName}.${element.className} at ${[left, top, right, bottom].map(Math.round)}`);
      }
    }
    return found;
  });

/** Texts of Class of which a part can't be seen: the box around them is too small. */
export const cut = (page) =>
  page.evaluate(() => {
    const found = [];
    const main = document.querySelector(".class");
    const short = (text) => text.replace(/\s+/g, " ").trim().slice(0, 30);
    const boxes = [...main.querySelectorAll("*")].filter(
      (element) => !element.closest(".sr, dialog") && getComputedStyle(element).overflow !== "visible" && element.tagName !== "svg",
    );
    for (const box of boxes) {
      const over = [box.scrollHeight - box.clientHeight, box.scrollWidth - box.clientWidth];
      if (Math.max(...over) > 1) found.push(`${box.className || box.tagName}: ${over} over, "${short(box.textContent)}"`);
      const room = box.getBoundingClientRect();
      const range = document.createRange();
      for (const node of texts(box)) {
        range.selectNodeContents(node);
        // A line's box is higher than its glyphs where lines stand close.
        const spare = 2 + 0.12 * parseFloat(getComputedStyle(node.parentElement).fontSize);
        const over = [...range.getClientRects()].some(
          ({ top, bottom, left, right }) =>
            top < room.top - spare || bottom > room.bottom + spare || left < room.left - 1 || right > room.right + 1,
        );
        if (over) found.push(`${box.className || box.tagName}: cut "${short(node.data)}"`);
      }
    }
    return [...new Set(found)];
    function texts(root) {
      const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
      const nodes = [];
      while (walker.nextNode()) if (walker.currentNode.data.trim()) nodes.push(walker.currentNode);
      return nodes;
    }
  });

/**
 * Texts of Class, or of its help, that lie under another element. The digits do not count as one: their line is
 * higher than they are, and its empty edge lies over the line above.
 */
export const covered = (page) =>
  page.evaluate(() => {
    const found = new Set();
    const main = document.querySelector("dialog[open]") ?? document.querySelector(".class");
    const walker = document.createTreeWalker(main, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (walker.nextNode()) {
      const node = walker.currentNode;
      const parent = node.parentElement;
      if (!node.data.trim() || parent.closest(".sr") || (main.tagName !== "DIALOG" && parent.closest("dialog"))) continue;
      range.selectNodeContents(node);
      for (const { left, top, width, height } of range.getClientRects()) {
        for (const share of [0.1, 0.5, 0.9]) {
          const above = document.elementFromPoint(left + share * width, top + height / 2);
          if (above && above.dataset.testid !== "seconds" && !above.contains(parent) && !parent.contains(above)) {
            found.add(`"${node.data.trim().slice(0, 30)}" under ${above.dataset.testid ?? above.className}`);
          }
        }
      }
    }
    return [...found];
  });

/** What is touched and is smaller than 48 CSS px. */
export const small = (page, least = 48) =>
  page.evaluate((least) => {
    const found = new Set();
    const scope = document.querySelector("dialog[open]") ?? document.querySelector("main");
    for (const element of scope.querySelectorAll("button, a, summary, input, select, textarea, [role=slider], [tabindex='0']")) {
      // A box to tick is touched by its label too.
      const touched = element.type === "checkbox" ? element.closest("label") ?? element : element;
      const { width, height } = touched.getBoundingClientRect();
      if (width === 0) continue;
      if (width < least - 0.01 || height < least - 0.01) {
        found.add(`${element.dataset.testid ?? element.textContent.slice(0, 30)}: ${width.toFixed(1)} x ${height.toFixed(1)}`);
      }
    }
    return [...found];
  }, least);

/** Contrast of two colours, [r, g, b] of 0 to 255: WCAG 2.2, "relative luminance" and "contrast ratio". */
export function contrast(one, other) {
  const linear = (value) => {
    const part = value / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  };
  const luminance = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const [low, high] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (high + 0.05) / (low + 0.05);
}

/** Each visible text of a screen with its colour and the ground that it stands on. */
const inks = (page) =>
  page.evaluate(() => {
    const canvas = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
    const known = new Map();
    // The canvas reads every form of a CSS colour and lays one over another.
    const over = (colours) => {
      const key = colours.join();
      if (!known.has(key)) known.set(key, mixed(colours));
      return known.get(key);
    };
    const mixed = (colours) => {
      canvas.clearRect(0, 0, 1, 1);
      for (const colour of ["#fff", ...colours]) {
        canvas.fillStyle = colour;
        canvas.fillRect(0, 0, 1, 1);
      }
      return [...canvas.getImageData(0, 0, 1, 1).data.slice(0, 3)];
    };
    const scope = document.querySelector("dialog[open]") ?? document.querySelector("main");
    const walker = document.createTreeWalker(scope, NodeFilter.SHOW_TEXT);
    const found = [];
    while (walker.nextNode()) {
      const parent = walker.currentNode.parentElement;
      const text = walker.currentNode.data.trim();
      if (!text || parent.closest(".sr") || !parent.checkVisibility() || (scope.tagName !== "DIALOG" && parent.closest("dialog"))) continue;
      const grounds = [];
      for (let element = parent; element; element = element.parentElement) grounds.unshift(getComputedStyle(element).backgroundColor);
      found.push({ text: text.slice(0, 30), ink: over([...grounds, getComputedStyle(parent).color]), ground: over(grounds) });
    }
    return found;
  });

/** Texts with less contrast than `least`. */
export async function faint(page, least) {
  const found = (await inks(page)).map(({ text, ink, ground }) => ({ text, ratio: contrast(ink, ground) }));
  if (found.length === 0) return ["no text on the screen"];
  return found.filter(({ ratio }) => ratio < least).map(({ text, ratio }) => `"${text}" ${ratio.toFixed(2)}`);
}

/** The font sizes of the seconds, of the move's name, and the largest of all else on Class, in CSS px. */
export const fontSizes = (page) =>
  page.evaluate(() => {
    const size = (element) => parseFloat(getComputedStyle(element).fontSize);
    const of = (id) => document.querySelector(`[data-testid=${id}]`);
    const rest = [...document.querySelectorAll(".class *")].filter(
      (element) => !element.closest("[data-testid=seconds], [data-testid=move], .sr, dialog") &&
        [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim()),
    );
    return { seconds: size(of("seconds")), move: size(of("move")), rest: Math.max(...rest.map(size)) };
  });

/** The box of a test handle, in CSS px. */
export const box = (page, id) =>
  page.locator(`[data-testid=${id}]`).evaluate((element) => {
    const { x, y, width, height } = element.getBoundingClientRect();
    return { x, y, width, height };
  });

/** The height of what is drawn in an element, in CSS px: rows of a screenshot that differ from its corner. */
export async function drawnHeight(page, id) {
  const png = await page.locator(`[data-testid=${id}]`).screenshot({ animations: "disabled" });
  return page.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
    const canvas = new OffscreenCanvas(image.width, image.height).getContext("2d");
    canvas.drawImage(image, 0, 0);
    const { data } = canvas.getImageData(0, 0, image.width, image.height);
    const differs = (at) => Math.abs(data[at] - data[0]) + Math.abs(data[at + 1] - data[1]) + Math.abs(data[at + 2] - data[2]) > 300;
    const rows = [];
    for (let y = 0; y < image.height; y += 1) {
      for (let x = 0; x < image.width; x += 1) {
        if (differs(4 * (y * image.width + x))) {
          rows.push(y);
          break;
        }
      }
    }
    return (rows.at(-1) - rows[0] + 1) / devicePixelRatio;
  }, png.toString("base64"));
}

/** Texts of Class that are seen and stand in letters of less than 12 CSS px. */
export const tiny = (page, least = 12) =>
  page.evaluate((least) => {
    const found = new Set();
    const main = document.querySelector("dialog[open]") ?? document.querySelector(".class");
    const walker = document.createTreeWalker(main, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (walker.nextNode()) {
      const node = walker.currentNode;
      const parent = node.parentElement;
      if (!node.data.trim() || parent.closest(".sr, [data-clock] span") || (main.tagName !== "DIALOG" && parent.closest("dialog"))) continue;
      range.selectNodeContents(node);
      const size = parseFloat(getComputedStyle(parent).fontSize);
      if (range.getClientRects().length > 0 && size < least) found.add(`"${node.data.trim().slice(0, 30)}" ${size} px`);
    }
    return [...found];
  }, least);
