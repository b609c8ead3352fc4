// Shapes of the JSON interface that the page uses.
export interface Interval { median: number; lo80: number; hi80: number; sd: number }
export interface Load { amount: number; unit: 'kg' | 'lb' | 'mark' }
