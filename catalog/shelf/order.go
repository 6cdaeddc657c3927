package shelf

import (
	"cmp"
	"slices"

	"beadline/catalog/label"
)

// inOrder is the item with its records in one fixed order, so that the judgement does
// not depend on how they were listed. The lists of the item itself are not touched.
func (it *Item) inOrder() Item {
	own := *it
	own.Thawed = sorted(it.Thawed, func(a, b *label.Date) int { return compareDates(*a, *b) })
	own.Refrozen = sorted(it.Refrozen, func(a, b *label.Date) int { return compareDates(*a, *b) })
	own.Tests = sorted(it.Tests, compareTests)
	own.Storage = sorted(it.Storage, compareStorage)
	own.Freed = sorted(it.Freed, compareFreed)
	return own
}

func sorted[T any](all []T, compare func(a, b *T) int) []T {
	if len(all) < 2 {
		return all
	}
	own := slices.Clone(all)
	slices.SortStableFunc(own, func(a, b T) int { return compare(&a, &b) })
	return own
}

func compareStorage(a, b *Storage) int {
	return cmp.Or(compareDates(a.From, b.From), compareDates(a.To, b.To), compareDates(a.HotFrom, b.HotFrom), cmp.Compare(a.Where, b.Where),
		cmp.Compare(a.MaxC, b.MaxC), cmp.Compare(a.MinC, b.MinC), cmp.Compare(a.Spent, b.Spent), cmp.Compare(a.MeanKineticC, b.MeanKineticC),
		cmp.Compare(a.Readings, b.Readings), truth(a.Measured)-truth(b.Measured), slices.Compare(a.Notes, b.Notes))
}

func compareFreed(a, b *Freed) int {
	return cmp.Or(compareDates(a.On, b.On), cmp.Compare(a.Limit, b.Limit), cmp.Compare(a.By, b.By), cmp.Compare(a.Authority, b.Authority),
		cmp.Compare(a.Reference, b.Reference), cmp.Compare(a.Why, b.Why))
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}
