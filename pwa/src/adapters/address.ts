/** The address bar: the path is the core's route; a link's code behind the # is taken out. */

export function currentRoute(): string {
  return decoded(location.pathname) ?? '/';
}

/** The code of an invitation link, taken out of the address, so that no log or history keeps it. */
export function takeCode(): string | undefined {
  const code = decoded(location.hash.slice(1));
  if (!code) return undefined;
  history.replaceState(null, '', location.pathname);
  return code;
}

/** Names the route in the address bar, as a new step of the history if the person asked for it. */
export function showRoute(route: string, asked: boolean): void {
  if (route === currentRoute() || !route.startsWith('/')) return;
  if (asked) history.pushState(null, '', route);
  else history.replaceState(null, '', route);
}

/** Calls `moved` when the person went back or forward, or followed a link with a code. */
export function onMoved(moved: () => void): void {
  addEventListener('popstate', moved);
}

function decoded(text: string): string | undefined {
  try {
    return decodeURIComponent(text);
  } catch {
    return undefined; // not an address of ours
  }
}
