/** Findings of the area `verify/`. */
export const verifyFindings = {};
