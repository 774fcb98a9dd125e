/* A report page in Chromium:  node report.test.mjs FOLDER   (see run.sh)
 *
 * Every check says what a reader would see: pixels of the canvases, the order of the rows, what the keyboard reaches, the
 * text of the printed page. */
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { createRequire } from "node:module";
import path from "node:path";

const folder = path.resolve(process.argv[2]);
const { chromium } = createRequire(folder + path.sep)("playwright-core");
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: process.getuid() === 0 ? ["--no-sandbox"] : [],
});
let done = 0, failed = 0;

async function check(name, body) {
  done++;
  try {
    await body();
  } catch (error) {
    failed++;
    console.log(`  FAILED ${name}\n    ${String(error.stack || error).split("\n").slice(0, 6).join("\n    ")}`);
  }
}

/* Open a page that fails the test when it writes to the console or requests anything but itself. */
async function open(name, options) {
  const page = await browser.newPage(options);
  const url = `file://${folder}/${name}`;
  page.complaints = [];
  page.on("console", (message) => page.complaints.push(`console ${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => page.complaints.push(`error: ${error.message}`));
  page.on("request", (request) => {
    if (request.url() !== url && !request.url().startsWith("data:")) page.complaints.push(`request: ${request.url()}`);
  });
  await page.goto(url);
  await settle(page);
  return page;
}

const settle = (page) => page.evaluate(() =>
  new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(resolve, 20)))));
const dataOf = (page) => page.evaluate(() => JSON.parse(document.getElementById("data").textContent));
const picture = (page, selector) => page.locator(selector).first().evaluate((canvas) => canvas.toDataURL());

/* ---- the slider and the point ----------------------------------------------------------------------------------- */

/* Return the place of the point, as shares of the axes. */
function pointPlace(page, number) {
  return page.evaluate((n) => {
    const point = document.querySelector(`#state-${n} .point`).getBoundingClientRect();
    const over = document.querySelector(`#state-${n} .u-over`).getBoundingClientRect();
    return {
      x: (point.left + point.width / 2 - over.left) / over.width,
      y: 1 - (point.top + point.height / 2 - over.top) / over.height,
    };
  }, number);
}

async function slide(page, number, value) {
  await page.locator(`#slider-${number}`).evaluate((slider, to) => {
    slider.value = to;
    slider.dispatchEvent(new Event("input", { bubbles: true }));
  }, String(value));
  await settle(page);
}

async function checkStates(page) {
  const data = await dataOf(page);
  assert.ok(data.states.length > 0);
  for (let n = 0; n < data.states.length; n++) {
    const state = data.states[n], last = state.states.length - 1;
    const end = state.shortening_mm[state.shortening_mm.length - 1];
    const seen = new Set();
    for (const i of [0, 1, Math.round(last / 3), last]) {
      await slide(page, n, i);
      const shortening = state.shortening_mm[state.states[i].step];
      const place = await pointPlace(page, n);
      assert.ok(Math.abs(place.x - shortening / end) < 0.01, `point at ${place.x}, state at ${shortening / end}`);
      if (i === 0) assert.ok(Math.abs(place.y) < 0.01, "the unloaded state carries no force");
      else assert.ok(place.y > 0 && place.y < 1, "the point lies inside the chart");
      const said = await page.locator(`#said-${n}`).textContent();
      const strain = Number((100 * shortening / state.height_mm).toPrecision(3));
      assert.ok(said.startsWith(`strain ${strain} %`), `${said} at strain ${strain}`);
      seen.add(await picture(page, `#state-${n} .state-grid .picture canvas`));
    }
    assert.equal(seen.size, 4, "every state is another picture");
  }
}

async function checkCurveMovesSlider(page) {
  const data = await dataOf(page);
  const { states, shortening_mm: travel } = data.states[0];
  await page.locator("#state-0 .u-over").scrollIntoViewIfNeeded();
  const over = await page.locator("#state-0 .u-over").boundingBox();
  await page.mouse.move(over.x + 0.8 * over.width, over.y + over.height / 2);
  await settle(page);
  const wanted = 0.8 * travel[travel.length - 1];
  const off = states.map((state) => Math.abs(travel[state.step] - wanted));
  const at = Number(await page.locator("#slider-0").inputValue());
  assert.ok(off[at] <= Math.min(...off) + 0.01 * wanted, `state ${at} is not the nearest`);
  await page.mouse.move(5, 5);
  await page.locator("#state-0 .chart").focus();
  await page.keyboard.press("ArrowLeft");
  assert.equal(Number(await page.locator("#slider-0").inputValue()), at - 1);
  await page.keyboard.press("End");
  assert.equal(Number(await page.locator("#slider-0").inputValue()), states.length - 1);
  await page.keyboard.press("Home");
  assert.equal(Number(await page.locator("#slider-0").inputValue()), 0);
}

/* Check that the whole shape is drawn: joints of the unloaded state lie inside the coupon, beads at its edges. */
async function checkShapes(page) {
  const found = await page.evaluate(() => {
    const data = JSON.parse(document.getElementById("data").textContent);
    return data.states.map((state) => {
      const first = positionsOf(state.states[0].position, state.box);
      const xs = first.filter((_, i) => i % 2 === 0), ys = first.filter((_, i) => i % 2 === 1);
      return { count: first.length / 2, points: state.struts.first.at(-1), low: Math.min(...ys), high: Math.max(...ys),
        left: Math.min(...xs), right: Math.max(...xs), height: state.height_mm };
    });
  });
  for (const one of found) {
    assert.equal(one.count, one.points);
    assert.ok(one.left >= -0.5 && one.right <= 14.5, "width 14 mm");
    assert.ok(one.low >= -0.5 && one.low < 1 && one.high <= 12.5 && one.high > 11, "height 12 mm");
  }
}

/* ---- table ------------------------------------------------------------------------------------------------------ */

async function checkSorting(page) {
  const data = await dataOf(page);
  const heads = page.locator("#coupons thead button");
  const column = (k) => page.locator(`#coupons tbody tr > :nth-child(${k + 1})`).allTextContents();
  for (let k = 2; k < await heads.count(); k++) {
    for (const direction of [1, -1]) {
      await heads.nth(k).click();
      const texts = await column(k);
      const missing = texts.filter((text) => /^(not reached|no result)/.test(text)).length;
      const values = texts.slice(0, texts.length - missing).map((text) => parseFloat(text));
      assert.equal(texts.length, data.rows.length);
      assert.ok(texts.slice(texts.length - missing).every((text) => /^(not reached|no result)/.test(text)), "these come last");
      assert.ok(values.every((value, i) => i === 0 || direction * (value - values[i - 1]) >= 0), texts.join(" "));
      const sort = await page.locator("#coupons thead th").nth(k).getAttribute("aria-sort");
      assert.equal(sort, direction > 0 ? "ascending" : "descending");
    }
  }
  await heads.nth(0).click();
  const names = (await column(0)).filter((name) => name.startsWith("square") && /walls 1(,|$)/.test(name));
  const densities = names.map((name) => Number(name.match(/density (\d+)/)[1]));
  assert.deepEqual(densities, [8, 16, 24], "8 % stands before 16 %");
  assert.equal(await page.locator("#coupons th[aria-sort=ascending]").count(), 1);
}

/* Check that the filter hides rows and points, and shows them again. */
async function checkFilter(page) {
  const data = await dataOf(page);
  const rows = page.locator("#coupons tbody tr:visible");
  const chart = page.locator("#scatter-chart");
  const points = async () => Number((await chart.getAttribute("aria-label")).match(/(\d+) coupons$/)[1]);
  const all = await points();
  await page.fill("#filter", "square walls 1");
  const wanted = data.rows.filter((row) => row.label.includes("square") && row.label.includes("walls 1"));
  assert.equal(await rows.count(), wanted.length);
  assert.ok(await points() < all && await points() > 0);
  await page.selectOption("#scatter-across", { index: 1 });
  assert.match(await chart.getAttribute("aria-label"), / over mass \[g\], /);
  await page.fill("#filter", "");
  assert.equal(await rows.count(), data.rows.length);
  assert.equal(await points(), all);
}

/* Check that the states play from the first to the last, then stop. */
async function checkPlay(page) {
  const slider = page.locator("#slider-0"), button = page.locator("#state-0 .slide button");
  await slider.fill(await slider.getAttribute("max") - 2 + "");
  await button.click();
  assert.equal(await button.textContent(), "Stop");
  await page.waitForFunction(() => document.querySelector("#slider-0").value === document.querySelector("#slider-0").max);
  await page.waitForFunction(() => document.querySelector("#state-0 .slide button").textContent === "Play");
}

async function checkTable(page) {
  const data = await dataOf(page);
  const text = (await page.locator("#coupons tbody").textContent()).replace(/\u00a0/g, " ");
  assert.ok(text.includes("2 failed"), "a coupon that cannot be built is a row");
  assert.ok(text.includes("no result") && text.includes("not reached"));
  for (const row of data.rows) {
    assert.ok(text.includes(row.label), row.label);
    for (const figure of row.figures) {
      if (figure.count) assert.ok(text.includes(String(Number(figure.median.toPrecision(4)))), `${figure.median}`);
    }
  }
}

/* ---- curves ----------------------------------------------------------------------------------------------------- */

/* Count the pixels of the chart near the colour of a line. */
function pixelsOf(page, item) {
  return page.evaluate((i) => {
    const canvas = document.querySelector("#curve-chart canvas");
    const probe = document.querySelectorAll("#legend .swatch path")[i];
    const wanted = getComputedStyle(probe).stroke.match(/\d+/g).map(Number);
    const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext("2d", { willReadFrequently: true });
    copy.drawImage(canvas, 0, 0);
    const { data } = copy.getImageData(0, 0, canvas.width, canvas.height);
    let count = 0;
    for (let p = 0; p < data.length; p += 4) {
      count += data[p + 3] > 200 && wanted.every((value, k) => Math.abs(value - data[p + k]) < 12);
    }
    return count;
  }, item);
}

async function checkLegend(page) {
  await page.locator("#curves-none").click();
  await settle(page);
  assert.equal(await pixelsOf(page, 0), 0, "all curves are hidden");
  await page.locator("#curve-0").check();
  await settle(page);
  assert.ok(await pixelsOf(page, 0) > 50, "one curve is drawn");
  await page.locator("#curve-0").uncheck();
  await settle(page);
  assert.equal(await pixelsOf(page, 0), 0, "and hidden again");
  await page.locator("#curves-all").click();
  await settle(page);
  assert.ok(await pixelsOf(page, 0) > 50, "all are drawn");
}

async function checkHover(page) {
  const data = await dataOf(page);
  await page.locator("#curve-chart .u-over").scrollIntoViewIfNeeded();
  const over = await page.locator("#curve-chart .u-over").boundingBox();
  await page.mouse.move(over.x + 0.5 * over.width, over.y + 30);
  await settle(page);
  const where = await page.locator("#curve-where").textContent();
  const strain = parseFloat(where.match(/at ([\d.]+) %/)[1]);
  const { curve } = data.rows.find((row) => row.curve);
  const after = curve.strain.findIndex((value) => 100 * value >= strain);
  const read = parseFloat(await page.locator("#legend .value").first().textContent());
  const near = [curve.stress_MPa[after - 1], curve.stress_MPa[after]];
  assert.ok(read >= Math.min(...near) * 0.99 && read <= Math.max(...near) * 1.01, `${read} between ${near}`);
  await page.locator("#curve-axes").selectOption("force");
  await page.locator("#curve-range").selectOption("whole");
  await settle(page);
  assert.ok(await pixelsOf(page, 0) > 50, "force over shortening is drawn");
  await page.locator("#curve-chart").focus();
  await page.keyboard.press("ArrowRight");
  assert.match(await page.locator("#curve-where").textContent(), /mm shortening/);
  await page.locator("#curve-axes").selectOption("strain");
}

/* ---- the page --------------------------------------------------------------------------------------------------- */

async function checkWidth(page, width) {
  const size = await page.evaluate(() => ({ page: document.documentElement.scrollWidth, window: innerWidth,
    wide: [...document.querySelectorAll("body *")].filter((element) => {
      const box = element.getBoundingClientRect();
      return box.right > innerWidth + 1 && box.width > 0 && !element.closest(".scroll, .hidden, .skip");
    }).map((element) => `${element.tagName}.${element.className}`) }));
  assert.equal(size.window, width);
  assert.ok(size.page <= width, `the page is ${size.page} px wide`);
  assert.deepEqual(size.wide, [], "reaches beyond the window");
  const small = await page.evaluate(() => [...document.querySelectorAll("p, td, th, dd, dt, label, li, button, output")]
    .filter((element) => element.offsetParent && parseFloat(getComputedStyle(element).fontSize) < 12).length);
  assert.equal(small, 0, "letters of at least 12 px");
}

/* Check the contrast of WCAG 2.1 (relative luminance): 4.5 for text and 3 for lines. */
async function checkContrast(page) {
  const low = await page.evaluate(() => {
    const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    const light = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255)
      .map((c) => c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
      .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
    const contrast = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const pairs = [["--ink", "--ground", 4.5], ["--ink", "--raised", 4.5], ["--soft", "--ground", 4.5],
      ["--soft", "--raised", 4.5], ["--link", "--ground", 4.5], ["--ink", "--caution-ground", 4.5], ["--focus", "--ground", 3]];
    for (let i = 0; i < 7; i++) pairs.push([`--line-${i}`, "--ground", 3]);
    return pairs.filter(([a, b, least]) => contrast(light(colour(a)), light(colour(b))) < least).map((pair) => pair.join(" "));
  });
  assert.deepEqual(low, []);
}

/* Go from the top of the page with the tab key alone, until nothing new comes. */
async function checkKeyboard(page) {
  await page.evaluate(() => { document.activeElement.blur(); scrollTo(0, 0); });
  const wanted = await page.evaluate(() => {
    const all = [...document.querySelectorAll("a[href], button, input, select, summary, [tabindex='0']")];
    all.forEach((element, i) => { element.dataset.walk = String(i); });
    return all.map((element) => `${element.tagName} ${element.id || element.textContent.slice(0, 30)}`);
  });
  const reached = new Set();
  for (let i = 0; i < wanted.length + 5; i++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const element = document.activeElement, style = getComputedStyle(element);
      return { walk: element.dataset.walk, outline: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2 };
    });
    if (at.walk === undefined) continue;
    assert.ok(at.outline, `${wanted[at.walk]} shows its focus`);
    reached.add(Number(at.walk));
  }
  assert.deepEqual(wanted.filter((_, i) => !reached.has(i)), [], "not reached by the keyboard");
  const nameless = await page.evaluate(() => [...document.querySelectorAll("[data-walk]")].filter((element) =>
    !(element.getAttribute("aria-label") || element.textContent.trim() || element.labels?.length)).length);
  assert.equal(nameless, 0, "every control has a name");
}

async function checkKeys(page) {
  await page.locator("#coupons thead button").nth(2).focus();
  await page.keyboard.press("Enter");
  assert.equal(await page.locator("#coupons thead th").nth(2).getAttribute("aria-sort"), "ascending");
  await page.locator("#curve-1").focus();
  await page.keyboard.press("Space");
  assert.equal(await page.locator("#curve-1").isChecked(), false);
  await page.keyboard.press("Space");
  await page.locator("#slider-0").focus();
  const before = Number(await page.locator("#slider-0").inputValue());
  const shown = await picture(page, "#state-0 .state-grid .picture canvas");
  await page.keyboard.press("ArrowRight");
  assert.equal(Number(await page.locator("#slider-0").inputValue()), before + 1);
  assert.notEqual(await picture(page, "#state-0 .state-grid .picture canvas"), shown);
}

async function checkMode(page) {
  const data = await dataOf(page);
  const number = data.states.findIndex((state) => state.mode);
  assert.ok(number >= 0, "one of the coupons has a mode");
  const canvas = `#state-${number} .mode canvas`;
  const before = await picture(page, canvas);
  await page.locator(`#mode-${number}`).focus();
  await page.keyboard.press("Home");
  assert.notEqual(await picture(page, canvas), before);
}

/* Return the place of the last ink of each page, as a share of its height. */
function inkEnds(file) {
  const all = execFileSync("pdftoppm", ["-r", "20", "-gray", file], { maxBuffer: 1 << 26 }), ends = [];
  for (let at = 0; at < all.length;) {
    const [head, wide, high] = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(all.toString("latin1", at, at + 40));
    const first = at + head.length, size = Number(wide) * Number(high);
    let last = size - 1;
    while (last > 0 && all[first + last] > 200) last--;
    ends.push(Math.floor(last / wide) / high);
    at = first + size;
  }
  return ends;
}

async function checkPaper(page, name) {
  const file = path.join(folder, name);
  await page.pdf({ path: file, preferCSSPageSize: true, printBackground: false });
  const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" }).replace(/\s+/g, " ");
  const data = await dataOf(page);
  const parts = [data.title, data.question, data.safety.slice(0, 40), "Table", "Curves", "Deformed states and modes",
    "Critical step", "Settings and versions", "Program", "Cautions", data.safety.slice(0, 40)];
  let at = 0;
  for (const part of parts) {
    const found = text.indexOf(part, at);
    assert.ok(found >= 0, `'${part}' is missing or out of order`);
    at = found + part.length;
  }
  for (const state of data.states) assert.ok(text.includes(state.label), state.label);
  const full = inkEnds(file);
  assert.ok(full.length > 1 && full.slice(0, -1).every((share) => share > 0.6), `pages end at ${full.map((share) => share.toFixed(2))} of their height`);
  assert.equal(await page.locator(".strip figure").count(), 5 * data.states.length, "five states of each");
  await settle(page);
  assert.equal(await page.evaluate(() => document.documentElement.classList.contains("paper")), false, "and back to the screen");
}

async function checkHostile(page) {
  assert.equal(await page.title(), `A foot </script><b id=forged>for</b> "bench" & more`);
  assert.equal(await page.locator("#forged").count(), 0);
  assert.equal(await page.locator("#question-text").textContent(), "Which one <script>forged()</script> folds first?");
}

/* film.svg plays by itself, over and over; for a reader who asks for less motion it shows one state of the middle. */
async function checkFilm() {
  for (const reducedMotion of ["no-preference", "reduce"]) {
    const page = await browser.newPage({ reducedMotion, viewport: { width: 1120, height: 560 } });
    await page.goto(`file://${folder}/soft/film.svg`);
    const seen = new Set();
    for (let i = 0; i < 6; i++) {
      seen.add((await page.screenshot()).toString("base64"));
      await page.waitForTimeout(300);
    }
    assert.ok(reducedMotion === "reduce" ? seen.size === 1 : seen.size >= 3, `${seen.size} pictures with ${reducedMotion}`);
    await page.close();
  }
}

/* ---- all of it -------------------------------------------------------------------------------------------------- */

const store = await open("store.html", { viewport: { width: 1280, height: 900 } });
await store.screenshot({ path: path.join(folder, "store-1280.png"), fullPage: true });
await check("readable at 1280 px", () => checkWidth(store, 1280));
await check("colours of the light theme", () => checkContrast(store));
await check("texts are texts", () => checkHostile(store));
await check("table holds the figures", () => checkTable(store));
await check("sorting sorts", () => checkSorting(store));
await check("filter leaves rows and points out", () => checkFilter(store));
await check("a press is played", () => checkPlay(store));
await check("legend switches curves", () => checkLegend(store));
await check("hover reads values off", () => checkHover(store));
await check("slider moves state and point", () => checkStates(store));
await check("curve moves the slider", () => checkCurveMovesSlider(store));
await check("shapes arrive whole", () => checkShapes(store));
await check("mode moves", () => checkMode(store));
await check("keyboard reaches everything", () => checkKeyboard(store));
await check("keys work the controls", () => checkKeys(store));
await check("prints in order", () => checkPaper(store, "store.pdf"));
await check("silent, and nothing is fetched", () => assert.deepEqual(store.complaints, []));
await store.close();

const narrow = await open("cases.html", { viewport: { width: 400, height: 800 }, colorScheme: "dark" });
await narrow.screenshot({ path: path.join(folder, "cases-400-dark.png"), fullPage: true });
await check("readable at 400 px", () => checkWidth(narrow, 400));
await check("colours of the dark theme", () => checkContrast(narrow));
await check("case files: slider moves state and point", () => checkStates(narrow));
await check("case files: keyboard reaches everything", () => checkKeyboard(narrow));
await check("the film plays, and stands still where less motion is wished", checkFilm);
await check("case files: prints in order", () => checkPaper(narrow, "cases.pdf"));
await check("from 400 to 1280 px", async () => {
  await narrow.setViewportSize({ width: 1280, height: 800 });
  await settle(narrow);
  await checkWidth(narrow, 1280);
  await narrow.setViewportSize({ width: 400, height: 800 });
  await settle(narrow);
  await checkWidth(narrow, 400);
});
await check("case files: silent, and nothing is fetched", () => assert.deepEqual(narrow.complaints, []));

await browser.close();
console.log(`browser: ${done} checks, ${failed} failed`);
process.exit(failed ? 1 : 0);
