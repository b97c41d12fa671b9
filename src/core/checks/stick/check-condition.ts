import { type Finding, finding } from '../../findings/finding.ts';
import type { StickEntry, StickFacts } from '../../model/stick-facts.ts';

/**
 * Is it a stick, can it be written, was it pulled in the middle? A mounted volume is marked dirty by the operating system
 * itself while it is mounted, so the mark is only judged on images and devices.
 */
export function checkCondition(stick: StickFacts, agreed: boolean): readonly Finding[] {
  const found: Finding[] = [];
  const where = stick.drive === undefined ? stick.target : `${stick.target} (${stick.drive.device})`;
  const isStick = stick.kind === 'image' || (stick.drive?.removable === true && stick.drive.usb === true);
  if (!isStick) {
    const code = agreed ? 'stick/not-a-removable-drive-agreed' : 'stick/not-a-removable-drive';
    found.push(finding(code, stick.target, { where }));
  }
  if (stick.readOnly) found.push(finding('stick/read-only', stick.target));
  if (stick.dirty === true && stick.kind !== 'folder') found.push(finding('stick/dirty', stick.target));
  return found;
}

/** The stick ends where something else is mounted in it; and what can be named, but not looked into, is named. */
export function checkMounts(target: string, entries: readonly StickEntry[]): readonly Finding[] {
  const pathsOf = (isMeant: (entry: StickEntry) => boolean) => entries.filter(isMeant).map(({ path }) => path);
  const mounts = pathsOf(({ isMount }) => isMount === true);
  const links = pathsOf(({ odd }) => odd === 'link');
  const special = pathsOf(({ odd }) => odd === 'special');
  const names = pathsOf(({ odd }) => odd === 'name');
  return [
    ...(mounts.length > 0 ? [finding('stick/mount-inside', target, { paths: mounts })] : []),
    ...(links.length > 0 ? [finding('stick/links', target, { paths: links })] : []),
    ...(special.length > 0 ? [finding('stick/special-files', target, { paths: special })] : []),
    ...(names.length > 0 ? [finding('stick/unreadable-names', target, { paths: names })] : []),
  ];
}
