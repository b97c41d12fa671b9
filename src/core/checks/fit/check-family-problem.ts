import { type Finding, finding } from '../../findings/finding.ts';
import type { FamilyProblem } from '../../model/family-problem.ts';

/** A problem inside a family file as a finding; `place` is `file:line:column`. */
export function checkFamilyProblem(problem: FamilyProblem, place: string): Finding {
  switch (problem.kind) {
    case 'pattern':
      return finding('family/pattern-refused', place, { what: problem.what, todo: problem.todo });
    case 'example': {
      const { text, expected, cameOut } = problem;
      return finding('family/example-fails', place, { text, expected, cameOut });
    }
    case 'part':
      return finding('family/part-unknown', place, { what: problem.what, todo: problem.todo });
    case 'build':
      return finding('family/build-wrong', place, { what: problem.what, todo: problem.todo });
  }
}
