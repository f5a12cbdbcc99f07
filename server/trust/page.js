// Tells when this phone trusts the server: a request to it works only then.
const app = document.body.dataset.app;
const state = document.getElementById('state');

async function look() {
  let trusted = false;
  try {
    await fetch(`${app}/livez`, { mode: 'no-cors', cache: 'no-store' });
    trusted = true;
  } catch {
    // refused, or not reached: the steps below say what to do
  }
  state.hidden = false;
  state.textContent = trusted
    ? 'This phone trusts the server. Open Evenhold.'
    : 'This phone does not trust the server yet, or does not reach it: follow the steps.';
  if (trusted) document.body.dataset.trusted = 'yes';
}

document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'visible') void look();
});
void look();
