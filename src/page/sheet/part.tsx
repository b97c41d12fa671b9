import type { ComponentChildren } from 'preact';

interface PartWords {
  readonly number: number;
  readonly title: string;
  /** What stands below it needs the whole width of the sheet. */
  readonly isWide?: true;
  readonly children: ComponentChildren;
}

/** A numbered part of the slip. */
export const Part = ({ number, title, isWide, children }: PartWords) => (
  <section class={isWide ? 'part wide' : 'part'} aria-labelledby={`part-${number}`}>
    <h2 id={`part-${number}`}>
      <span class="part-number">{number}</span> {title}
    </h2>
    <div class="part-body">{children}</div>
  </section>
);
