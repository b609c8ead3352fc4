// How German writes what stands in the places of the patterns.
export const weekdays: Record<string, string> = { Mon: 'Mo', Tue: 'Di', Wed: 'Mi', Thu: 'Do', Fri: 'Fr', Sat: 'Sa', Sun: 'So' };
// Whole words within shares and quantities.
export const inQuantities: readonly (readonly [string, string])[] = [['under', 'unter'], ['over', 'über'], ['mark', 'Marke'], ['marks', 'Marken']];
