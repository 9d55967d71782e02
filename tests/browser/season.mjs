// Looks at the season page in a real browser.
//
//     node season.mjs PAGE HOSTILE [PICTURES]
//
// PAGE is a sound season, HOSTILE one whose logs are full of markup, PICTURES a folder for screenshots and a PDF.
// CHROMIUM names another browser than Debian's.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const [page_path, hostile_path, pictures] = process.argv.slice(2);
const axe = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  // In a container there is no user to hold the sandbox.
  args: process.getuid?.() === 0 ? ['--no-sandbox'] : [],
});

// Opens a page, watches all that it says and asks for, and hands it on.
async function visit(file, options, look) {
  const context = await browser.newContext({ reducedMotion: 'reduce', ...options });
  const page = await context.newPage();
  const said = [], asked = [], address = pathToFileURL(path.resolve(file)).href;
  page.on('console', (message) => said.push(`${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => said.push(`error: ${error.message}`));
  page.on('dialog', (dialog) => { said.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
  page.on('request', (request) => asked.push(request.url()));
  await page.goto(address, { waitUntil: 'load' });
  await look(page);
  assert.deepEqual(said, [], 'the console stays empty');
  assert.deepEqual(asked.filter((url) => url !== address && !url.startsWith('data:')), [], 'nothing is asked for');
  await context.close();
}

const picture = (page, name) =>
  pictures && page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });

const open_all = (page) => page.getByLabel('open every brew').check();
const brews = '.brews > tbody > tr:not(.more)';

async function nothing_serious(page, where) {
  await page.evaluate(axe);
  const { violations, passes } = await page.evaluate(() => axe.run());
  assert.ok(passes.length > 15, `axe looked at ${where}`);
  const told = violations.map((one) => `${one.impact} ${one.id}: ${one.nodes.map((node) => node.html).slice(0, 3).join(' ')}`);
  assert.deepEqual(told, [], `axe, ${where}`);
}

async function fits(page, where) {
  const [width, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  assert.ok(width <= room, `${where}: ${width} wide in ${room}`);
}

// The lightness of a colour as the browser resolved it, 0 to 255.
const lightness = (colour) => {
  const [r, g, b] = colour.match(/[\d.]+/g).map(Number);
  return 0.299 * r + 0.587 * g + 0.114 * b;
};
const style = (page, selector, property) =>
  page.locator(selector).first().evaluate((element, name) => getComputedStyle(element)[name], property);

const wide = { viewport: { width: 1280, height: 900 } };
const phone = { viewport: { width: 360, height: 740 }, isMobile: true, hasTouch: true };

await visit(page_path, { ...wide, colorScheme: 'light' }, async (page) => {
  const count = await page.locator(brews).count();
  assert.ok(count > 5, 'the season has brews');
  await fits(page, 'wide');
  await picture(page, 'light');
  await nothing_serious(page, 'light');
  const paper = lightness(await style(page, 'html', 'backgroundColor'));
  const line = lightness(await style(page, 'svg polyline[stroke="#2B4C6F"]', 'stroke'));
  assert.ok(paper > 230 && line < 110, `light paper ${paper}, dark line ${line}`);

  // Each picture is one for who does not see it, and none is cut off by another.
  const names = await page.getByRole('img').evaluateAll((all) => all.map((one) => one.getAttribute('aria-label')));
  assert.ok(names.length > 3 * count && names.every((name) => name.length > 10));

  // By keyboard alone: past the brews' list by the first link, a row open and shut again.
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.className), 'skip');
  const summary = page.locator(`${brews} > th summary`).first();
  const row = page.locator('.brews > tbody > tr.more').first();
  for (let press = 0; press < 30 && !(await summary.evaluate((one) => one === document.activeElement)); press += 1) {
    await page.keyboard.press('Tab');
  }
  assert.ok(await summary.evaluate((one) => one === document.activeElement), 'the first brew takes the focus');
  const ring = await style(page, 'summary:focus-visible', 'outlineStyle');
  assert.equal(ring, 'solid', 'the focus is seen');
  assert.ok(await row.isHidden());
  await page.keyboard.press('Enter');
  assert.ok(await row.isVisible(), 'Enter opens a brew');
  assert.ok(await row.getByRole('table').isVisible());
  await page.keyboard.press('Space');
  assert.ok(await row.isHidden(), 'Space shuts it');
  await page.keyboard.press('Space');
  await picture(page, 'open');

  await open_all(page);
  assert.equal(await page.locator('.brews > tbody > tr.more:visible').count(), count);
  await fits(page, 'wide, all open');
  await nothing_serious(page, 'all open');
});

await visit(page_path, { ...wide, colorScheme: 'dark' }, async (page) => {
  await page.locator(`${brews} > th summary`).nth(1).click();
  await picture(page, 'dark');
  const paper = lightness(await style(page, 'html', 'backgroundColor'));
  const text = lightness(await style(page, 'body', 'color'));
  const line = lightness(await style(page, 'svg polyline[stroke="#2B4C6F"]', 'stroke'));
  const label = lightness(await style(page, 'svg text', 'fill'));
  const band = lightness(await style(page, 'svg polygon', 'fill'));
  assert.ok(paper < 40 && text > 200, `dark paper ${paper}, light text ${text}`);
  assert.ok(line > 150 && label > 150 && band < 90, `line ${line}, label ${label}, band ${band}`);
  await open_all(page);
  await nothing_serious(page, 'dark');
});

for (const width of [320, 360, 700]) {
  await visit(page_path, { ...phone, viewport: { width, height: 740 } }, async (page) => {
    await fits(page, `${width} wide`);
    if (width === 360) {
      await page.locator(`${brews} > th summary`).nth(1).click();
      await picture(page, 'phone');
    }
    // Set in blocks it stays a table.
    const table = page.getByRole('table').first();
    assert.ok((await table.getByRole('rowheader').count()) > 5);
    await open_all(page);
    await fits(page, `${width} wide, all open`);
    await nothing_serious(page, `${width} wide`);
  });
}

await visit(page_path, { ...wide, colorScheme: 'dark' }, async (page) => {
  await page.locator(`${brews} > th summary`).nth(1).click();
  await page.emulateMedia({ media: 'print' });
  assert.ok(lightness(await style(page, 'html', 'backgroundColor')) > 250, 'paper is white');
  assert.ok(await page.locator('nav').first().isHidden());
  assert.equal(await page.locator('.brews > tbody > tr.more:visible').count(), 1, 'what is open is printed');
  const pdf = await page.pdf({ preferCSSPageSize: true });
  assert.equal(pdf.subarray(0, 5).toString(), '%PDF-');
  const sheets = pdf.toString('latin1').match(/\/Type\s*\/Page\b/g).length;
  assert.ok(sheets > 2 && sheets < 30, `${sheets} sheets`);
  if (pictures) fs.writeFileSync(path.join(pictures, 'print.pdf'), pdf);
});

await visit(hostile_path, wide, async (page) => {
  await open_all(page);
  await picture(page, 'hostile');
  const grown = 'script, img, iframe, object, embed, form, base, a:not([href^="#"]), link:not([rel=icon]), svg :is(a, use, image)';
  assert.equal(await page.locator(grown).count(), 0, 'log text became no element');
  const handlers = await page.evaluate(() =>
    [...document.querySelectorAll('*')].flatMap((one) => one.getAttributeNames()).filter((name) => name.startsWith('on')));
  assert.deepEqual(handlers, []);
  assert.ok((await page.getByText('<script>').count()) > 0, 'it is shown as the text that it is');
  assert.ok((await page.locator(brews).count()) > 1);
  await fits(page, 'hostile');
  await nothing_serious(page, 'hostile');
  await page.setViewportSize({ width: 360, height: 740 });
  await fits(page, 'hostile, 360 wide');
});

await browser.close();
console.log('the season page holds in the browser');
