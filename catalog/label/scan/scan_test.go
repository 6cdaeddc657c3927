package scan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// c puts the control characters where a test spells them.
func c(s string) string { return controls.Replace(s) }

func ids(s Scan) (ids []string) {
	for _, f := range s.Fields {
		ids = append(ids, f.ID)
	}
	return ids
}

func TestFieldsKeepTheirOrderAndTitles(t *testing.T) {
	s, err := Parse(c("]C101054123450000131728033110AB-1/2<GS>21S7<GS>240P-9<GS>241N-1<GS>3012<GS>3103001250<GS>99<x>"), now)
	require.NoError(t, err)
	assert.Equal(t, GS1, s.Standard)
	assert.Equal(t, "]C1", s.Symbology)
	assert.Equal(t, []string{"01", "17", "10", "21", "240", "241", "30", "3103", "99"}, ids(s))
	assert.Equal(t, "05412345000013", s.GTIN)
	assert.Equal(t, "AB-1/2", s.Lot)
	assert.Equal(t, "S7", s.Serial)
	assert.Equal(t, "P-9", s.Part)
	assert.Equal(t, "N-1", s.CustomerPart)
	assert.InDelta(t, 12, s.Quantity, 0)
	assert.InDelta(t, 1.25, s.NetKg, 1e-12)
	assert.Equal(t, "31 March 2028", s.Expiry.String())
	assert.Equal(t, `"280331" is read as 31 March 2028: its year has two digits.`, s.Expiry.Assumed())
	assert.Equal(t, s.Expiry, s.Fields[1].Date)
	assert.Empty(t, s.Warnings)
	for _, f := range s.Fields {
		assert.NotEmpty(t, f.Title, f.ID)
	}
}

func TestDayZeroKeepsTheMonth(t *testing.T) {
	s, err := Parse("17280200", now)
	require.NoError(t, err)
	assert.Equal(t, "2028-02", s.Expiry.Canonical())
	assert.Equal(t, 29, s.Expiry.Last().Day())
}

func TestSeparatorBehindAFixedFieldDoesNotCount(t *testing.T) {
	with, err := Parse(c("0105412345000013<GS>17280331<GS>10A<GS>"), now)
	require.NoError(t, err)
	without, err := Parse("01054123450000131728033110A", now)
	require.NoError(t, err)
	assert.Equal(t, without, with)
}

func TestTheSameTwiceIsOnceAndDifferentIsRefused(t *testing.T) {
	s, err := Parse(c("10A<GS>17280331<GS>10A"), now)
	require.NoError(t, err)
	assert.Equal(t, []string{"10", "17"}, ids(s))
	for text, want := range map[string]string{
		"10A<GS>10B":                                       `(10) at character 5: it stood before as "A", and now as "B": scan one code at a time`,
		"1728033117280330":                                 `(17) at character 9: it stood before as "280331"`,
		"1728033170032803301200":                           `(7003) at character 9: it says 30 March 2028 12:00, another field of the same scan 31 March 2028`,
		"[)><RS>05<GS>10A<RS>06<GS>1TB<RS><EOT>":           `(1T) at character 15: it says "B", another field of the same scan "A"`,
		"[)><RS>06<GS>14D20280331<GS>15D30032028<RS><EOT>": `it says 30 March 2028, another field of the same scan 31 March 2028`,
		"010541234500001302054123450000133712":             "(01) and (02) in one scan",
		"3012<GS>3713":                                     "it says 13, another field of the same scan 12",
		"4331002000<GS>4330010000":                         "it says 37.8 C, another field of the same scan 20.0 C",
	} {
		_, err := Parse(c(text), now)
		assert.ErrorContains(t, err, want, text)
	}
	s, err = Parse("1728033170032803311200", now)
	require.NoError(t, err)
	assert.Equal(t, "2028-03-31T12:00", s.Expiry.Canonical(), "the one with the time")
	back, err := Parse(c("70032803311200<GS>17280331"), now)
	require.NoError(t, err)
	assert.Equal(t, s.Expiry, back.Expiry)
}

func TestRefusalsNameIdentifierAndPlace(t *testing.T) {
	for text, want := range map[string]string{
		"":                          "nothing scanned: scan the code, or type the batch",
		"]d2":                       "nothing behind the symbology identifier: scan again",
		"]D201":                     `character 1: "]D2" is no symbology identifier that is read: a GS1 code sends ]d2, ]C1, ]e0, ]Q3 or ]J1`,
		"]E05412345000013":          `"]E0" is a plain product bar code: it holds a product number and no batch: scan the other code, or type the batch`,
		"]d2010541234500001510A":    `(01) at character 4: "05412345000015": the check digit is wrong: it ends in 5 and would have to end in 3: scan again, do not type it`,
		"01054123450000131729033":   `(17) at character 17: "29033" is not 6 digits`,
		"0105412345":                `(01) at character 1: "05412345" is not 14 digits`,
		"0105412345000013790A":      `character 17: "790A" starts no GS1 identifier: is a character missing before it?`,
		"BATCH7":                    `character 1: "BATC" starts no GS1 identifier: scan the code again, or type the batch alone`,
		"10":                        `(10) at character 1: "" has 0 characters, not 1 to 20`,
		"10ABCDEFGHIJKLMNOPQRSTU":   `(10) at character 1: "ABCDEFGHIJKLMNOPQRSTU" has 21 characters, not 1 to 20: is the separator (GS) behind it missing?`,
		"10ABCDEFGHIJKLMN17290331":  `not 1 to 20: is the separator (GS) missing before (17) 31 March 2029?`,
		"30123456789":               `(30) at character 1: "123456789" is not 1 to 8 digits: is the separator (GS) behind it missing?`,
		"10A$B":                     `(10) at character 1: "$" is not a character of such a field`,
		"10A<GS><GS>17290331":       "character 5: two separators with nothing between them",
		"70032903312415":            "(7003) at character 1: \"2903312415\": no hour 24",
		"70032903311260":            "no minute 60",
		"70112903":                  `(7011) at character 1: "2903" is not 6 to 10 digits`,
		"70112903311":               `"2903311" is not 6 digits, YYMMDD, nor 10, YYMMDDHHMM`,
		"4331A02000":                `(4331) at character 1: "A02000" is not a temperature: six digits`,
		"4331002000+":               "is not a temperature",
		"4331999999-":               "colder than anything can be",
		"14280331\x07":              "character 9: control character 0x07",
		"10Ä":                       `character 3: '\u00c4': bar codes hold plain ASCII: is the keyboard layout of the scanner right?`,
		"(1)A":                      `character 1: "(1)A" is no identifier in brackets: write it like (01), (17) or (1T)`,
		"(79)A":                     "character 1: (79) is no GS1 identifier",
		"(17)":                      "(17) at character 1: nothing stands behind it",
		"(17)290331(10)A<GS>21B":    "character 16: a separator among identifiers in brackets",
		"https://example.com/lot/7": "an address without a product number",
		"https://example.com/01/05412345000013/21/S/10/A": "(10) at character 44: out of order: behind the product number stand 22, 10 and 21",
		"https://example.com/01/05412345000013/17/290331": `character 39: "17" does not belong in the path of an address`,
		"https://example.com/01/05412345000013/10":        "an identifier without its value",
		"https://exam ple.com/01/05412345000013":          "character 13: an address holds no spaces and no separators",
		"https://example.com/01/05412345000015":           "the check digit is wrong",
		"https://example.com/01/05412345000013?17=290332": "(17) at character 39: \"290332\": no day 32",
		"https://example.com/01/05412345000013/10/A%2":    "a % without two hexadecimal digits",
		"https://example.com/01/05412345000013?05=1":      `"05" is no GS1 identifier`,
		"[)><RS>06<GS>tABC<RS><EOT>":                      `character 8: "tABC" starts with no data identifier: up to three digits and a capital letter, like 1T`,
		"[)><RS>061TABC<RS><EOT>":                         "character 7: the separators between the fields are missing: set the scanner to send GS (0x1D)",
		"[)><RS>06<GS>1T<RS><EOT>":                        "(1T) at character 8: nothing stands behind it",
		"[)><RS>06<GS>14D20290231<RS><EOT>":               "no day 31 in February 2029",
		"[)><RS>06<GS>QTEN<RS><EOT>":                      `(Q) at character 8: "TEN" is not a quantity`,
		"[)><RS>06<GS>2Ewarm<RS><EOT>":                    `(2E) at character 8: "warm" is not a temperature`,
		"[)><RS>06<GS>1TA<RS><EOT>06":                     "the envelope ends and more follows",
		"[)><RS>06<GS>1TA<EOT>06":                         "the envelope ends and more follows",
		"[)><RS>07<GS>text<RS><EOT>":                      "no field in the scan",
		"[)><RS>x<RS><EOT>":                               `character 5: "x" is no format of an envelope`,
		"[)>":                                             "is no format of an envelope",
		strings.Repeat("9", 4297):                         "scan of 4297 characters: a bar code holds 4296 at most",
	} {
		s, err := Parse(c(text), now)
		if assert.ErrorContains(t, err, want, text) {
			assert.NotContains(t, err.Error(), "\n")
		}
		assert.Zero(t, s, text)
	}
}

func TestUnknownFieldsAreKeptAsTheyStand(t *testing.T) {
	s, err := Parse(c("4108412345000010<GS>10A<GS>7004123<GS>17280331"), now)
	require.NoError(t, err)
	assert.Equal(t, []string{"410", "10", "7004", "17"}, ids(s))
	require.Len(t, s.Warnings, 2)
	assert.Equal(t, Unknown, s.Warnings[0].Trouble)
	assert.Equal(t, `(410) "8412345000010": not an identifier that is read here; it is kept as it stands.`, s.Warnings[0].String())
	s, err = Parse(c("[)><RS>06<GS>1TA<GS>4LFO<GS>4LDK<GS>16D20260401<RS><EOT>"), now)
	require.NoError(t, err)
	assert.Equal(t, []string{"1T", "4L", "4L", "16D"}, ids(s))
	assert.Equal(t, "2026-04-01", s.DOM.Canonical())
}

func TestScannerFaultsAreRepairedWithAWarning(t *testing.T) {
	sound, err := Parse(c("]d2010541234500001310ABC123<GS>17290331"), now)
	require.NoError(t, err)
	for _, gs := range []string{"|", "~", "^", "#", "@", "{", "}", "`", " ", "<GS>", "{GS}", "[GS]", "^]", `\u001d`, `\u001D`, `\x1d`, `\x1D`, "␝", "<FNC1>", "{FNC1}"} {
		s, err := Parse("]d2010541234500001310ABC123"+gs+"17290331\r\n", now)
		require.NoError(t, err, gs)
		require.Len(t, s.Warnings, 1, gs)
		assert.Equal(t, Repaired, s.Warnings[0].Trouble)
		assert.False(t, s.Doubt)
		s.Warnings = nil
		assert.Equal(t, sound, s, gs)
	}
	envelope, err := Parse(c("[)><RS>06<GS>1TABC123<GS>14D20290331<RS><EOT>"), now)
	require.NoError(t, err)
	assert.Empty(t, envelope.Warnings)
	for _, text := range []string{
		"[)><RS>06<GS>1TABC123<GS>14D20290331<RS>", "[)><RS>06<GS>1TABC123<GS>14D20290331<EOT>", "[)><RS>06<GS>1TABC123<GS>14D20290331",
		"[)>06<GS>1TABC123<GS>14D20290331<RS><EOT>", "<RS>06<GS>1TABC123<GS>14D20290331<RS><EOT>", "06<GS>1TABC123<GS>14D20290331<RS><EOT>",
		"06<GS>1TABC123<GS>14D20290331", "[)>|06|1TABC123|14D20290331||", "[)>^06|1TABC123|14D20290331^", "[)> 06 1TABC123 14D20290331", "[)>06#1TABC123#14D20290331",
		"[)>{RS}06{GS}1TABC123{GS}14D20290331{RS}{EOT}", "[)>␞06␝1TABC123␝14D20290331␞␄", `[)>\u001e06\u001d1TABC123\u001d14D20290331\u001e\u0004`,
		"[)><RS>06<GS>1TABC123<GS>14D20290331<GS><RS>",
	} {
		if strings.Contains(text, "<") {
			text = c(text)
		}
		s, err := Parse(text, now)
		require.NoError(t, err, "%q", text)
		require.NotEmpty(t, s.Warnings, "%q", text)
		for _, w := range s.Warnings {
			assert.Equal(t, Repaired, w.Trouble)
		}
		s.Warnings = nil
		assert.Equal(t, envelope, s, "%q", text)
	}
}

func TestNothingIsRepairedInTwoWays(t *testing.T) {
	for text, want := range map[string]string{
		"10AB|17290331#21S":  `"|" is not a character of such a field`, // two substitutes
		"10AB#C17290331":     `"#" is not a character`,                 // what follows is no field
		"]D2010541234500001": "no symbology identifier",                // shift lost
		"10AB<GS>C1":         `with <GS> read as the character it spells`,
	} {
		_, err := Parse(text, now)
		assert.ErrorContains(t, err, want, text)
	}
}

func TestSwallowedDateIsNoticed(t *testing.T) {
	for text, want := range map[string]string{
		"010541234500001310ABC12317290331":    "(17) expires, 31 March 2029",
		"10ABC12317290300":                    "(17) expires, March 2029",
		"10ABC1231729033121S7":                "(17) expires, 31 March 2029",
		"10A1126033117290331":                 "(11) made, 31 March 2026",
		"21S717290331":                        "(17) expires, 31 March 2029",
		"10A<GS>240P15290331":                 "(15) best before, 31 March 2029",
		"[)><RS>05<GS>10ABC17290331<RS><EOT>": "(17) expires, 31 March 2029",
		"010541234500001310117290331":         "(17) expires, 31 March 2029",
		"10ABC12313290331":                    "(13) packed, 31 March 2029",
		// A scanner that is set to write brackets takes them from what the bars gave it.
		"(10)ABC17290331":     "(17) expires, 31 March 2029",
		"10ABC7011290331":     "(7011) test by, 31 March 2029",
		"10ABC70112903310800": "(7011) test by, 31 March 2029 08:00",
		"10ABC70032903311415": "(7003) expires, 31 March 2029 14:15",
		"8020REF17290331":     "(17) expires, 31 March 2029", // a field not known here ends at a separator too
	} {
		s, err := Parse(c(text), now)
		require.NoError(t, err, text)
		require.True(t, s.Doubt, text)
		assert.True(t, s.Expiry.IsZero(), "it is not taken")
		assert.Contains(t, texts(s.Warnings), want, text)
		assert.Contains(t, texts(s.Warnings), "Compare with the label.")
	}
}

// An expiry of its own does not hide a date of test that was swallowed.
func TestSwallowedTestByIsNoticedBesideAnExpiry(t *testing.T) {
	s, err := Parse("0105412345000013"+"17310331"+"10ABC7011280331", now)
	require.NoError(t, err)
	require.True(t, s.Doubt)
	assert.Contains(t, texts(s.Warnings), "(7011) test by, 31 March 2028")
}

// The identifiers are those of ANSI MH10.8.2; the lost separators are made up.
func TestSwallowedDateInAnEnvelopeIsNoticed(t *testing.T) {
	for fields, want := range map[string]string{
		"16D20260901<GS>1TABC14D20290331":      "(14D) expires, 31 March 2029",
		"1TABC15D31032029":                     "(15D) expires, 31 March 2029",
		"1TABC16D20260331<GS>14D20290331":      "(16D) made, 31 March 2026",
		"S717D31032026":                        "(17D) made, 31 March 2026",
		"1PX112D20290331":                      "(12D) date, 31 March 2029",
		"1TABCD290331<GS>16D20260901":          "(D) date, 31 March 2029",
		"4LXY14D20290331":                      "(14D) expires, 31 March 2029", // a field not known here
		"1TABC14D202903311PX-1<GS>16D20260901": "(14D) expires, 31 March 2029",
	} {
		s, err := Parse(c("[)><RS>06<GS>"+fields+"<RS><EOT>"), now)
		require.NoError(t, err, fields)
		require.True(t, s.Doubt, fields)
		assert.Contains(t, texts(s.Warnings), want, fields)
	}
	for _, fields := range []string{
		"1TABC14D20290331<GS>14D20290331", // its own expiry stands there
		"1TD290331",                       // a lot begins with its own first character
		"1TABCD290331<GS>14D20290331",     // letters and digits of a lot, beside an expiry
		"1TABC14D20290332", "1TABC14D2029033", "1TABC14D20990331", "1TABC14D20290331*", "Q14", "9D14D20290331",
	} {
		s, err := Parse(c("[)><RS>06<GS>"+fields+"<RS><EOT>"), now)
		require.NoError(t, err, fields)
		assert.False(t, s.Doubt, fields)
	}
}

func texts(ws []Warning) (all string) {
	for _, w := range ws {
		all += w.Text + "\n"
	}
	return all
}

// An address may name its parameters as it likes: none that holds a date is passed over
// in silence, and %31%37 is 17 (RFC 3986 section 2.1).
func TestDateOfAnAddressIsNeverPassedOver(t *testing.T) {
	const link = "https://example.com/01/05412345000013/10/A?11=260331&"
	s, err := Parse(link+"%31%37=290331", now)
	require.NoError(t, err)
	assert.Equal(t, "31 March 2029", s.Expiry.String())
	for _, name := range []string{"exp=290331", "expiry=2029-03-31", "exp=20290331", "use%20by=31%20Mar%202029"} {
		s, err := Parse(link+name, now)
		require.NoError(t, err, name)
		require.Len(t, s.Warnings, 1, name)
		assert.Equal(t, NoMeaning, s.Warnings[0].Trouble, name)
		assert.Contains(t, s.Warnings[0].Text, "31 March 2029", name)
		assert.True(t, s.Expiry.IsZero(), name)
	}
	for _, name := range []string{"linkType=all", "utm=x", "v=3", "id=1234567", "q=", "exp"} {
		s, err := Parse(link+name, now)
		require.NoError(t, err, name)
		assert.Empty(t, s.Warnings, name)
	}
	_, err = Parse(link+"%3=1", now)
	assert.ErrorContains(t, err, "two hexadecimal digits")
}

func TestOrdinaryLotsRaiseNoDoubt(t *testing.T) {
	for _, text := range []string{
		"10ABC123", "10ABC123<GS>17290331", "1017290331", "10A1729033", "10A17291331", "10A17290332", "10A17550331", "10A1729033X", "10L2607-17A",
		"10A17290331<GS>17290331", // its own expiry stands there
		"10A17290331X7",           // what follows is no field
		"10A12290331",             // no date that is read here
		"10A7003290331",           // an expiry with time has ten digits
		"https://id.gs1.org/01/05412345000013/10/ABC17290331",
		"[)><RS>06<GS>1TABC17290331<RS><EOT>", // an envelope separates every field
		"37172903",
	} {
		s, err := Parse(c(text), now)
		require.NoError(t, err, text)
		assert.False(t, s.Doubt, text)
	}
}

func TestBracketsWithinValues(t *testing.T) {
	for text, want := range map[string]string{
		`(10)A(B)C`:          "A(B)C", // no identifier of GS1
		`(10)A\(17)C`:        "A(17)C",
		`(10) ABC `:          "ABC",
		`(1T)A B(x)`:         "A B(x)",
		`(1T)A\\B`:           `A\B`,
		`(1T)A\(D)B`:         "A(D)B",
		`]C1(10)A(17)290331`: "A",
	} {
		s, err := Parse(text, now)
		require.NoError(t, err, text)
		assert.Equal(t, want, s.Lot, text)
	}
}

func TestLinkOfAnyDomain(t *testing.T) {
	s, err := Parse("]Q1https://example.com/shop/01/05412345000013/22/V1/10/A%2FB%2b/21/7?17=290331&linkType=all&3103=000500;utm=x#top", now)
	require.NoError(t, err)
	assert.Equal(t, Link, s.Standard)
	assert.Equal(t, "https://example.com/shop", s.Stem)
	assert.Equal(t, []string{"01", "22", "10", "21", "17", "3103"}, ids(s))
	assert.Equal(t, "A/B+", s.Lot)
	assert.InDelta(t, 0.5, s.NetKg, 1e-12)
	assert.Empty(t, s.Warnings)
	assert.Equal(t, "]Q1https://example.com/shop/01/05412345000013/22/V1/10/A%2FB%2B/21/7?17=290331&3103=000500", s.ElementString())
	s, err = Parse("HTTP://example.com/01/5412345000013?10=A&17=290300", now)
	require.NoError(t, err)
	assert.Equal(t, "05412345000013", s.GTIN)
	assert.Equal(t, "A", s.Lot)
	assert.Equal(t, "(01) The product number has 13 digits; zeros are put in front.", s.Warnings[0].Text)
	s, err = Parse("https://example.com/00/054123450000000013/", now)
	require.NoError(t, err)
	assert.Equal(t, "054123450000000013", s.SSCC)
}

func TestDatesWithoutMeaningAreNoExpiry(t *testing.T) {
	for field, want := range map[string]string{
		"D290331": "2029-03-31", "3D6091": "2026-04-01", "4D26091": "2026-04-01", "7D0429": "2029-04", "10D2614": "2026-W14", "12D20290331": "2029-03-31", "9D1": "",
	} {
		s, err := Parse(c("[)><RS>06<GS>"+field+"<RS><EOT>"), now)
		require.NoError(t, err)
		assert.Equal(t, want, s.Unstated.Canonical())
		assert.True(t, s.Expiry.IsZero() && s.DOM.IsZero())
		require.NotEmpty(t, s.Warnings)
		assert.Equal(t, NoMeaning, s.Warnings[0].Trouble)
		assert.Equal(t, field[:2] == "3D" || field[:2] == "10", len(s.Warnings) == 2, "decade and kind of week are assumed")
	}
}

func TestOddScansAreReadWithAWarning(t *testing.T) {
	for text, want := range map[string]string{
		"]C010ABC":                             "]C0 is not the mark of a GS1 code; it is read as one because it is written as one.",
		"3712":                                 "(02) and (37) belong together",
		"0205412345000013":                     "(02) and (37) belong together",
		"<GS>10ABC":                            "The separator in front of the first field is dropped.",
		"[)><RS>07<GS>x<RS>06<GS>1TA<RS><EOT>": "Format 07 of the envelope is not read here",
	} {
		s, err := Parse(c(text), now)
		require.NoError(t, err, text)
		require.Len(t, s.Warnings, 1)
		assert.Contains(t, s.Warnings[0].Text, want)
	}
}

// Symbology identifiers by ISO/IEC 15424: modifier 0 of Code 128 and 1 of Data Matrix say
// that the code is not GS1's.
func TestPlainIsWhatASymbolThatIsNotGS1Holds(t *testing.T) {
	for text, want := range map[string]string{"]C0S-2207": "S-2207", " ]d1S 7 \r\n": "S 7", "]A0X": "X"} {
		got, ok := Plain(text)
		assert.True(t, ok, text)
		assert.Equal(t, want, got)
	}
	for _, text := range []string{"", "]C0", "]C0 ", "S-2207", "]C1S-2207", "]d2S-2207", "]Q3A", "]E05412345000013", "]X0S", "]C0A\x1dB", "]C0é", "]CAS"} {
		_, ok := Plain(text)
		assert.False(t, ok, text)
	}
}

func TestLooksTellsAScanFromABatchNumber(t *testing.T) {
	for _, text := range []string{
		"]d2010541234500001310ABC", "]C110A", "(01)05412345000013", "(10)A", "(1T)A", "10A<GS>17290331", "[)>06", "06<GS>1TA", "0105412345000013", "0105412345000013\r\n",
		"010541234500001310ABC", "010541234500001517290331", "00054123450000000013", "https://id.gs1.org/01/05412345000013/10/A", "010541234500001310ABC{GS}17290331", swallowedDate,
	} {
		assert.True(t, Looks(c(text)), text)
	}
	assert.True(t, Looks(`10A\x1d17290331`))
	for _, text := range []string{
		"", " ", "S-2207", "10ABC123", "17290331", "0105412345000015", "01054123450000", "(A) 7", "(2027) 7", "A(01)7", "]", "]7", "https://example.com/lot/7", "2027-03-31",
		"00054123450000000014", "010541234500001379A", "L01/05412345000013",
	} {
		assert.False(t, Looks(text), text)
	}
}

func BenchmarkParse(b *testing.B) {
	for name, text := range map[string]string{
		"gs1":       c("]d201054123450000131729033110ABC123<GS>21S7"),
		"swallowed": swallowedDate,
		"brackets":  "(01)05412345000013(17)290331(10)ABC123",
		"link":      "https://id.gs1.org/01/05412345000013/10/ABC123/21/S7?17=290331",
		"envelope":  c("[)><RS>06<GS>1TABC123<GS>1PP-9<GS>14D20290331<GS>Q24<RS><EOT>"),
		"repaired":  "]d2010541234500001310ABC123|17290331",
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Parse(text, now); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLooks(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if Looks("S-2207-B") {
			b.Fatal("a batch number")
		}
	}
}
