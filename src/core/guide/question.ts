/** One thing that a person is asked. Whoever shows it draws it in its own way: a prompt, a page. */
export interface Question {
  /** Under this the answer is kept; never the same for two questions of one course. */
  readonly id: string;
  readonly text: string;
  /**
   * `line`: a line of text. `plate`: a line, or all lines of a plate pasted at once. `choice`: one of the choices.
   * `file`: a file that is there. `stick`: one that is plugged in, or a folder or image file that is there.
   */
  readonly kind: 'line' | 'plate' | 'choice' | 'file' | 'stick';
  /** What to show before it. */
  readonly before?: string;
  readonly choices?: readonly Choice[];
  /** What an empty answer stands for; without it an empty answer is none, unless it may be empty. */
  readonly otherwise?: string;
  readonly mayBeEmpty?: true;
  /** Why an answer cannot be right; undefined where it can. Asked when the answer is given, not at the end. */
  readonly check?: (answer: string) => string | undefined;
}

export interface Choice {
  readonly value: string;
  readonly name: string;
}

/** Everything that was answered so far, by the question's id, in the order in which it was given. */
export type Answers = Readonly<Record<string, string>>;

/** An answer; undefined where the question was not answered yet. Safe for any id. */
export const answerTo = (answers: Answers, id: string): string | undefined =>
  Object.hasOwn(answers, id) ? answers[id] : undefined;

/**
 * Before the id of an earlier question: that one is asked anew. A choice may have it for its value; alone, typed, it
 * stands for the question before.
 */
export const backSign = '<';

/** What is left where a question is asked anew: neither its answer nor those that came after it. */
export function withoutFrom(answers: Answers, id: string): Answers {
  const given = Object.entries(answers);
  const at = given.findIndex(([one]) => one === id);
  return Object.fromEntries(at < 0 ? given : given.slice(0, at));
}

/** Why an answer cannot be that of this question; undefined where it can. Kept answers are asked this again. */
export function objectionTo(question: Question, answer: string): string | undefined {
  const given = answer.trim() === '' ? (question.otherwise ?? '') : answer;
  if (question.kind === 'choice') {
    const known = question.choices?.some(({ value }) => value === given) === true;
    return known ? undefined : 'It is none of the choices.';
  }
  if (given.trim() === '') return question.mayBeEmpty ? undefined : 'Something must stand here.';
  return question.check?.(given);
}

/** The first of these questions that has no answer which could be right. */
export const firstOpen = (questions: readonly Question[], answers: Answers): Question | undefined =>
  questions.find((question) => {
    const answer = answerTo(answers, question.id);
    return answer === undefined || objectionTo(question, answer) !== undefined;
  });
