/** The name of the app: even letters about the plumb line. */
export function Wordmark() {
  return (
    <span class="wordmark" dir="ltr" role="img" aria-label="Evenhold">
      <span aria-hidden="true">EVEN<i />HOLD</span>
    </span>
  );
}
