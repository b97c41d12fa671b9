/** Ends the reading of a workbook from any depth; caught in read-xlsx.ts, which returns what it says as a finding. */
export class WorkbookRefusal extends Error {
  readonly kind: 'damaged' | 'too-large';

  constructor(kind: WorkbookRefusal['kind'], problem: string) {
    super(problem);
    this.name = 'WorkbookRefusal';
    this.kind = kind;
  }
}

export const damaged = (problem: string): WorkbookRefusal => new WorkbookRefusal('damaged', problem);
export const tooLarge = (what: string): WorkbookRefusal => new WorkbookRefusal('too-large', what);
