/** A field that an entry's two headers state differently. */
export interface DifferingPart {
  readonly part: string;
  readonly directory: string;
  readonly local: string;
}
