/** What taps, keys and typing ask for, in a browser. */
import assert from 'node:assert/strict';
import { after, before, beforeEach, test } from 'node:test';
import { build, open, show } from './browser.mjs';

let browser;
let address;
let page;

before(async () => {
  address = build();
  browser = await open();
  page = await browser.newPage({ viewport: { width: 390, height: 844 }, reducedMotion: 'reduce' });
});
beforeEach(() => show(page, address, { state: '' }));
after(() => browser.close());

const draw = (state) => page.evaluate((name) => globalThis.draw(name), state);
const change = (state) => page.evaluate((name) => globalThis.change(name), state);
const asked = () => page.evaluate(() => globalThis.asked);

async function middleOf(selector) {
  const box = await page.locator(selector).boundingBox();
  return [box.x + box.width / 2, box.y + box.height / 2];
}

test('a half reacts when the finger lifts, once, however long it was down', async () => {
  await draw('test-running');
  const [x, y] = await middleOf('button.half');
  await page.mouse.move(x, y);
  await page.mouse.down();
  assert.deepEqual(await asked(), []);
  await page.waitForTimeout(700);
  await page.mouse.move(x + 30, y + 60);
  await page.mouse.up();
  assert.deepEqual(await asked(), [{ do: 'test.stop', args: {} }]);
});

test('sliding out of a half cancels', async () => {
  await draw('test-running');
  const [x, y] = await middleOf('button.half');
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(20, y);
  await page.mouse.up();
  assert.deepEqual(await asked(), []);
});

test('a bounce of a wet finger is one press; keys work too', async () => {
  await draw('test-running');
  const [x, y] = await middleOf('button.half');
  await page.mouse.click(x, y);
  await page.mouse.click(x, y);
  assert.equal((await asked()).length, 1);
  await page.waitForTimeout(450);
  await page.locator('button.half').press('Enter');
  assert.equal((await asked()).length, 2);
});

test('minus and plus send numbers, typing sends what was typed', async () => {
  await draw('work-carry');
  await page.getByRole('button', { name: 'More: Load' }).click();
  await page.getByRole('button', { name: 'Less: Load' }).click();
  const load = page.getByRole('textbox', { name: 'Load' });
  for (const typed of ['7,5', '7.5', '٧٫٥']) {
    await load.fill(typed);
    await load.press('Enter');
  }
  assert.deepEqual((await asked()).map((a) => a.args.value), [17, 15, '7,5', '7.5', '٧٫٥']);
  assert.equal(await load.getAttribute('inputmode'), 'decimal');
});

test('leaving a number as it was sends nothing', async () => {
  await draw('work-carry');
  const load = page.getByRole('textbox', { name: 'Load' });
  await load.focus();
  await load.blur();
  assert.deepEqual(await asked(), []);
});

test('a long press repeats until it is let go', async () => {
  await draw('work-carry');
  const [x, y] = await middleOf('.step-button >> nth=1');
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.waitForTimeout(1500);
  await page.mouse.up();
  const count = (await asked()).length;
  assert.ok(count >= 4, `${count} steps`);
  await page.waitForTimeout(400);
  assert.equal((await asked()).length, count);
});

test('a form sends every field, keeps what was typed and goes to the first refusal', async () => {
  await draw('form-newPerson');
  await page.getByLabel('Name').fill('Jun S.');
  await page.getByLabel('Year of birth').fill('2094');
  await page.getByLabel('Name').press('Enter');
  const [sent] = await asked();
  assert.deepEqual(sent, {
    do: 'save',
    args: {
      values: {
        name: 'Jun S.', sex: '', birthYear: '2094', statureMM: '168', massG: '61,5', complaint: '',
        dominant: 'right',
      },
    },
  });
  await change('form-refused');
  assert.equal(await page.getByLabel('Name').inputValue(), 'Jun S.');
  const year = page.getByLabel('Year of birth');
  assert.ok(await year.evaluate((e) => e === document.activeElement));
  const id = await year.getAttribute('aria-describedby');
  const error = await page.locator(`[id="${id}"]`).textContent();
  assert.match(error, /has not come yet/);
});

test('a refusal of a lesser action takes the focus to its field too', async () => {
  await draw('test-resting');
  await page.getByRole('button', { name: 'End the rest' }).click();
  assert.deepEqual(await asked(), [{ do: 'test.rest', args: { values: { note: '' } } }]);
  await change('test-resting');
  const note = page.getByLabel('Why cut it short?');
  assert.ok(await note.evaluate((e) => e === document.activeElement));
});

test('a new screen begins at its heading', async () => {
  await draw('list-home');
  await change('list-person');
  await page.waitForTimeout(100); // the focus moves after the picture
  assert.match(await page.evaluate(() => document.activeElement.textContent), /^Pain 6/);
});

test('a row and the way back lead to other screens', async () => {
  await draw('list-home');
  await page.getByRole('link', { name: /Ines K\./ }).click();
  await draw('list-person');
  await page.getByRole('link', { name: 'Back' }).click();
  assert.deepEqual(await asked(), [{ route: '/p/2' }, { route: '/' }]);
});

test('no screen reader hears the seconds: time is no live region, what changed is', async () => {
  await draw('test-running');
  const live = page.locator('[role=status], [aria-live]:not([aria-live=off])');
  for (const text of await live.allTextContents()) assert.doesNotMatch(text, /41/);
  assert.ok((await live.allTextContents()).includes('Right. Touch to stop'));
});
