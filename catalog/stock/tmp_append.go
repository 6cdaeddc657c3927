package stock

import "fmt"

func AppendRow(dst []byte, r *Row) ([]byte, error) {
	return fmt.Appendf(dst, "%s,%s,%v,%v\n", r.Item.Batch, r.Location, r.Quantity, r.Unit), nil
}
