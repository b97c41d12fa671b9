/** What is wrong with a family beyond its shape; `path` leads to the place in the file. */
export type FamilyProblem = { readonly path: readonly (string | number)[] } & (
  | { readonly kind: 'pattern'; readonly what: string; readonly todo: string; readonly offset: number }
  | { readonly kind: 'example'; readonly text: string; readonly expected: string; readonly cameOut: string }
  | { readonly kind: 'part' | 'build'; readonly what: string; readonly todo: string }
);
