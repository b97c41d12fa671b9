import { severityOf, textsOf } from '../../core/findings/finding.ts';
import type { JudgedDrive, ModeAnswer } from '../../core/model/drive.ts';
import type { Mode } from '../../core/model/mode.ts';

/** Whether a drive would do for MODE, and the one reason; families that say the same stand together. */
export function modeInWords({ modes, volumes }: JudgedDrive, mode: Mode): readonly string[] {
  const answers = modes.filter((one) => one.mode === mode);
  if (answers.length === 0) return ['none of these families is updated in this mode'];
  const byWords = new Map<string, string[]>();
  for (const answer of answers) {
    const words = answerInWords(answer, volumes.length > 1);
    byWords.set(words, [...(byWords.get(words) ?? []), ...(answer.family === undefined ? [] : [answer.family])]);
  }
  return [...byWords].map(([words, families]) => (families.length === 0 ? words : `${families.join(', ')}: ${words}`));
}

const answers = { yes: 'would do', no: 'would not do', unknown: 'not known' };

function answerInWords({ answer, volume, reason }: ModeAnswer, isOneOfSeveral: boolean): string {
  const what = `${answers[answer]}${answer === 'yes' && isOneOfSeveral ? ` with ${volume}` : ''}`;
  if (reason === undefined) return what;
  const { seen, why } = textsOf(reason);
  const isMild = answer === 'yes' && severityOf(reason) === 'caution';
  return `${what}${isMild ? `; mind: ${seen} ${why}` : `: ${seen}`}  [${reason.code}]`;
}
