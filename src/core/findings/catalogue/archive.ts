/** Findings of the area `archive/`. */
export const archiveFindings = {};
