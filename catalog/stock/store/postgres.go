package store

import (
	"context"
	"errors"

	"beadline/catalog/stock/register"
)

func OpenPostgres(ctx context.Context, url string, o Options) (register.Store, error) {
	return nil, errors.New("not yet")
}
