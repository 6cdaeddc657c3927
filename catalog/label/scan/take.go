package scan

import (
	"fmt"
	"math"
	"strconv"

	"beadline/catalog/label"
)

// take puts the value of a field to its use. It answers why it cannot be, or "".
func (p *parser) take(f *Field, r role) (why string) {
	s := &p.s
	switch r {
	case roleSSCC:
		return checkedText(&s.SSCC, f.Value)
	case roleGTIN:
		return checkedText(&s.GTIN, f.Value)
	case roleContents:
		return checkedText(&s.Contents, f.Value)
	case roleLot:
		return text(&s.Lot, f.Value)
	case roleSerial:
		return text(&s.Serial, f.Value)
	case rolePart:
		return text(&s.Part, f.Value)
	case roleCustomerPart:
		return text(&s.CustomerPart, f.Value)
	case roleQuantity:
		return quantity(&s.Quantity, f.Value, 1)
	case roleNet:
		return quantity(&s.NetKg, f.Value, math.Pow10(int(f.ID[3]-'0')))
	case roleMinC, roleMaxC, roleMinF, roleMaxF:
		return p.gs1Temperature(f.Value, r)
	case roleExpiryMinute:
		return p.date(f, &s.Expiry, label.GS1Minute)
	case roleTestBy:
		return p.testBy(f)
	case roleMade:
		return p.date(f, &s.DOM, label.GS1Date)
	case rolePacked:
		return p.date(f, &s.Packed, label.GS1Date)
	case roleExpiry:
		return p.date(f, &s.Expiry, label.GS1Date)
	case roleBestBefore:
		return p.date(f, &s.BestBefore, label.GS1Date)
	case roleSellBy:
		return p.date(f, &s.SellBy, label.GS1Date)
	}
	return ""
}

func checkedText(to *string, value string) string {
	last := len(value) - 1
	if c := label.CheckDigit(value[:last]); c != value[last] {
		return fmt.Sprintf("%s: the check digit is wrong: it ends in %c and would have to end in %c: scan again, do not type it", quote(value), value[last], c)
	}
	return text(to, value)
}

// text sets a text that only one field of a scan may say.
func text(to *string, value string) string {
	if *to != "" && *to != value {
		return fmt.Sprintf("it says %s, another field of the same scan %s: scan one code at a time", quote(value), quote(*to))
	}
	*to = value
	return ""
}

func quantity(to *float64, value string, divisor float64) string {
	q, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return fmt.Sprintf("%s is not a number", quote(value))
	}
	q /= divisor
	if *to != 0 && *to != q {
		return fmt.Sprintf("it says %g, another field of the same scan %g: scan one code at a time", q, *to)
	}
	*to = q
	return ""
}

// date reads a date and sets what it is the date of. A day and the same day with a
// time are one date, the one with the time.
func (p *parser) date(f *Field, to *label.Date, l label.Layout) string {
	d, err := label.ReadDigits(f.Value, l, p.today)
	if err != nil {
		return err.Error()
	}
	f.Date = d
	switch {
	case to.IsZero(), sameDay(*to, d) && d.Precision() == label.Minute && to.Precision() == label.Day:
		*to = d
	case sameDay(*to, d) && (to.Precision() == d.Precision() && clock(*to) == clock(d) || to.Precision() == label.Minute && d.Precision() == label.Day):
	default:
		return fmt.Sprintf("it says %s, another field of the same scan %s: scan one code at a time", d, *to)
	}
	return ""
}

func sameDay(a, b label.Date) bool { return a.First() == b.First() && a.Last() == b.Last() }

func clock(d label.Date) int {
	m, _ := d.Clock()
	return m
}

// testBy is a day, or a day with hours and minutes; there is no day 00.
func (p *parser) testBy(f *Field) string {
	switch len(f.Value) {
	case 6:
		return p.date(f, &p.s.TestBy, label.YYMMDD)
	case 10:
		return p.date(f, &p.s.TestBy, label.GS1Minute)
	}
	return fmt.Sprintf("%s is not 6 digits, YYMMDD, nor 10, YYMMDDHHMM", quote(f.Value))
}

// gs1Temperature reads hundredths of a degree, six digits, with a minus behind them
// below zero (from memory of the GS1 General Specifications).
func (p *parser) gs1Temperature(value string, r role) string {
	if !isNumber(value[:6]) || len(value) == 7 && value[6] != '-' {
		return fmt.Sprintf("%s is not a temperature: six digits, hundredths of a degree, and - behind them below zero", quote(value))
	}
	n, _ := strconv.Atoi(value[:6]) // six digits: cannot fail
	if len(value) == 7 {
		n = -n
	}
	t := float64(n) / 100
	switch r {
	case roleMinF:
		return temperature(&p.s.MinC, (t-32)*5/9)
	case roleMaxF:
		return temperature(&p.s.MaxC, (t-32)*5/9)
	case roleMinC:
		return temperature(&p.s.MinC, t)
	}
	return temperature(&p.s.MaxC, t)
}

// temperature sets a limit. The same limit in °C and °F may differ by rounding, half
// a degree; the first counts.
func temperature(to *Temperature, c float64) string {
	switch {
	case c < -273.15:
		return fmt.Sprintf("%g C is colder than anything can be", c)
	case !to.Known:
		*to = Temperature{c, true}
	case math.Abs(to.C-c) > 0.5:
		return fmt.Sprintf("it says %.1f C, another field of the same scan %.1f C: scan one code at a time", c, to.C)
	}
	return ""
}
