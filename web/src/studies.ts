// How another study table is read as one of ours: which heading is which column.
export const studyColumns: [string, string[]][] = [
  ['which', ['study', 'group', 'effect_id', 'label', 'better', 'outcome', 'volume_equated', 'trained', 'failure', 'reserve']],
  ['published', ['effect', 'variance', 'se', 'ci_lo', 'ci_hi']],
  ['groups', ['n1', 'mean1', 'sd1', 'se1', 'n2', 'mean2', 'sd2', 'se2']],
  ['change', ['n', 'pre_mean', 'pre_sd', 'pre_se', 'post_mean', 'post_sd', 'post_se', 'change_mean', 'change_sd', 'change_se', 'change_t', 'r']],
  ['events', ['events1', 'events2']],
];

const quoted = (text: string) => `"${text.replace(/\\/g, '\\\\').replace(/"/g, '\\"').replace(/[\u0000-\u001f]/g, ' ')}"`;

// The mapping as TOML: columns that were picked, and every other heading under its own name, as a moderator.
export function studyMapping(picked: Record<string, string>, headings: string[]): string {
  const lines = Object.entries(picked).map(([column, heading]) => `${column} = ${quoted(heading)}`);
  if (!lines.length) return '';
  const used = new Set(Object.values(picked));
  const taken = new Set(Object.keys(picked));
  for (const heading of headings) {
    if (used.has(heading) || taken.has(heading)) continue;
    lines.push(`${quoted(heading)} = ${quoted(heading)}`);
    taken.add(heading);
  }
  return `[columns]\n${lines.join('\n')}\n`;
}
