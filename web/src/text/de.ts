import { en, type Text, type TextKey } from './en';
export const de: Record<TextKey, Text> = en;
