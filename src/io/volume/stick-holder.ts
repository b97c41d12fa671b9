import { ToolError } from '../../core/model/tool-error.ts';

/** Who holds a stick, as told to whoever wants it too. */
export interface Holder {
  readonly pid: number;
  /** As its command was told; empty where only the system names the process. */
  readonly target: string;
}

export type Release = () => Promise<void>;

/** Undefined where it is not one of ours. */
export function parseHolder(text: string): Holder | undefined {
  try {
    const holder: unknown = JSON.parse(text);
    const isHolder =
      typeof holder === 'object' &&
      holder !== null &&
      'pid' in holder &&
      Number.isSafeInteger(holder.pid) &&
      'target' in holder &&
      typeof holder.target === 'string';
    return isHolder ? (holder as Holder) : undefined;
  } catch {
    return undefined;
  }
}

export const inUse = (target: string, holder: Holder | undefined): ToolError =>
  new ToolError(
    'stick/in-use',
    target,
    holder === undefined ? 'another run is using this stick' : `process ${holder.pid} is using this stick${as(holder)}`,
    'Wait until it has finished, or end it; a stick that it left unfinished is completed by running the same command again.',
  );

const as = ({ target }: Holder): string => (target === '' ? '' : ` (as ${target.replace(/\p{C}/gu, '')})`);
