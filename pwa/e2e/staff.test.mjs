/**
 * The people of a practice on their own phones, on the real server: the owner invites them from the
 * screen, keeps a record to one of them, changes what one may do and takes one out; each phone
 * says what became of it.
 */
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';
import { Phone, Practice } from './practice.mjs';

let browser;
let practice;
let owner;
let coach;
let assistant;
let doc;

const staff = '/practice/people';

before(async () => {
  practice = await Practice.start();
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'],
  });
  owner = await Phone.open(browser, await practice.setUpLink());
  await owner.fill('Name of the practice', 'Plumb Yard');
  await owner.fill('Your name', 'Maren D.');
  await owner.tap('Join');
  await owner.sees('Nobody is here yet');
  await owner.tap('Add a person');
  await owner.screen('form');
  await owner.fill('Name', 'Ines K.');
  await owner.tap('Save');
  await owner.sees('Ines K.');
  doc = new URL(owner.page.url()).pathname.split('/')[2];
  await owner.sees(/All sent/);
});

after(async () => {
  await browser?.close();
  await practice?.stop();
});

/** The owner's page of the people, as the server tells it. */
async function people() {
  await owner.command('go', { route: staff });
  await owner.sees(/They see the records/);
}

/** One person's page, opened from that list as a thumb does. */
async function member(name) {
  await people();
  await owner.tap(name, {});
  await owner.sees('Invite another phone');
}

/** The link on the screen, opened by a phone of its own. */
async function joined(name) {
  await owner.page.getByText(/join#/).first().waitFor();
  const link = (await owner.page.locator('main').innerText()).match(/http:\S+#\S+/)[0];
  const phone = await Phone.open(browser, link);
  await phone.sees(name);
  await phone.tap('Join');
  await owner.letIn();
  await phone.sees(/All sent/);
  return phone;
}

async function invited(name, may) {
  await people();
  await owner.tap('Invite someone to the practice');
  await owner.fill('Name', name);
  if (may) await owner.choose('What they may do', may);
  await owner.tap('Make the code');
  return joined('Join Plumb Yard');
}

/** Waits until the phone has no record of the person any more. */
async function loses(phone) {
  await phone.page.waitForFunction(() => !document.body.innerText.includes('Ines K.'));
  assert.equal((await phone.digests())[doc], undefined, 'the record is still on the phone');
}

test('the owner invites an assistant and a coach from the screen', async () => {
  assistant = await invited('Bo R.');
  coach = await invited('Cora V.', 'Coach: also plans, decides and invites clients');
  for (const phone of [assistant, coach]) await phone.sees('Ines K.');
  await people();
  for (const text of ['Maren D.', 'Bo R.', 'Cora V.']) await owner.sees(text);
});

test('a record that is kept to one leaves the other’s phone, which says why', async () => {
  await owner.command('go', { route: `/p/${doc}` });
  await owner.tap('Who sees this record');
  await owner.sees('Everyone in the practice sees this record');
  await owner.tap('Only me');
  await owner.sees('Only some people see this record');
  await owner.page.locator('li', { hasText: 'Cora V.' })
    .getByRole('button', { name: 'Share with them' }).click();
  await owner.page.locator('li', { hasText: 'Cora V.' }).getByText('Sees this record').waitFor();
  await assistant.sees(/A record was taken off this phone/);
  await loses(assistant);
  await coach.sees('Ines K.');
  assert.ok((await coach.digests())[doc], 'the coach holds it');
});

test('a coach who becomes an assistant is one at once, on the open phone', async () => {
  await coach.command('go', { route: `/p/${doc}` });
  await coach.sees('Invite to use a phone');
  await member('Cora V.');
  await owner.tap('Make them an assistant');
  await owner.sees('Changed. It holds at once.');
  await coach.page.getByText('Invite to use a phone').waitFor({ state: 'detached' });
  const plan = await coach.command('go', { route: '/practice/weights' });
  assert.ok(JSON.stringify(plan.view).includes('practice.read_only'), 'a coach’s form is offered');
});

test('a further phone is invited for the same person', async () => {
  await owner.tap('Invite another phone');
  await owner.tap('Make the code');
  const further = await joined('Welcome back, Cora V.');
  await further.sees('Ines K.');
  await member('Cora V.');
  await owner.page.getByText(/^Phone, joined/).nth(1).waitFor();
  await further.context.close();
});

test('who is taken out finds the phone emptied, and told why', async () => {
  await owner.tap('Take them out of the practice');
  await owner.sees('Take Cora V. out of the practice?');
  await owner.tap('Take them out and empty their phones');
  await coach.sees(/This phone was reported lost, so it was emptied/);
  await loses(coach);
  await people();
  await owner.sees('no phone let in');
  for (const { complaints } of [owner, coach, assistant]) assert.deepEqual(complaints, []);
});

test('who knocks waits through a reload, and is turned away by a tap', async () => {
  await people();
  await owner.tap('Invite someone to the practice');
  await owner.fill('Name', 'Nobody K.');
  await owner.tap('Make the code');
  await owner.page.getByText(/join#/).first().waitFor();
  const link = (await owner.page.locator('main').innerText()).match(/http:\S+#\S+/)[0];
  await owner.command('go', { route: '/' });
  const phone = await Phone.open(browser, link);
  await phone.tap('Join');
  await phone.sees('Waiting to be let in');
  await phone.page.reload();
  await phone.sees('Waiting to be let in');
  await owner.tap('Somebody asks to come in');
  await owner.sees('Nobody K. (assistant)');
  await owner.sees(/From 127\.0\.0\.1, since/);
  await owner.tap('Turn away');
  await owner.sees('The phone was turned away');
  await phone.sees(/did not let this phone in/);
  assert.deepEqual(await phone.digests(), {});
  await phone.context.close();
});
