"""Paper: the run sheet, the calendar, the shopping list, the recipe card, all from one document model."""
