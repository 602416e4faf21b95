package csvtrace

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// A line before the samples may say that a channel was at the end of its range where a plausible number stands, as the live capture writes it:
//
//	# saturated: channel 1, samples 1200 to 1259, 1300 to 1302
//
// Channels count from 1 among those that are no time, samples from 0 over the rows.
var (
	saturatedLine = regexp.MustCompile(`^saturated: channel ([0-9]{1,3}), samples ([0-9]{1,10} to [0-9]{1,10}(?:, [0-9]{1,10} to [0-9]{1,10})*)$`)
	saidSo        = "at the end of its range, as the source said"
)

// statedStretches are the rows of a channel, from 0, that the lines before the samples call saturated.
func statedStretches(before []remark, channel int) (rows [][2]int) {
	for _, b := range before {
		m := saturatedLine.FindStringSubmatch(b.text)
		if m == nil {
			continue
		}
		if n, err := strconv.Atoi(m[1]); err != nil || n != channel+1 {
			continue
		}
		for _, part := range strings.Split(m[2], ", ") {
			a, b, _ := strings.Cut(part, " to ")
			from, err1 := strconv.Atoi(a)
			to, err2 := strconv.Atoi(b)
			if err1 == nil && err2 == nil && to >= from && to < math.MaxInt32 {
				rows = append(rows, [2]int{from, to + 1})
			}
		}
	}
	return rows
}

// withStated joins to a mask what the file says of a channel. Where no number stands, it was out of range; x are the channel's values.
func (r *reader) withStated(m drop.Mask, channel int, x []float64, s *settled) drop.Mask {
	var stated drop.Mask
	for _, k := range statedStretches(r.before, channel) {
		if k[0] >= r.rows {
			continue
		}
		from, to := r.samplesOf(s, k[0], min(k[1], r.rows))
		for i := max(from, 0); i < min(to, len(x)); {
			j, missing := i, math.IsNaN(x[i])
			for j < min(to, len(x)) && math.IsNaN(x[j]) == missing {
				j++
			}
			is := drop.Saturated
			if missing {
				is = drop.OutOfRange
			}
			stated = stated.With(drop.Stretch{From: i, To: j, Is: is, Why: saidSo})
			i = j
		}
	}
	if len(stated) == 0 {
		return m
	}
	return stated.Join(m)
}
