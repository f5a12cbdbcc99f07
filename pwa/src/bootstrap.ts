/** What the build and the head of the document hand to the page. */
export interface Boot {
  readonly worker: Worker;
}
