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

// mostStated is how many stretches of a file are told apart; what is more counts as one.
const mostStated = 4096

// statedStretches are the rows, from 0, that the lines before the samples call saturated, by channel from 0.
func statedStretches(before []remark) map[int][][2]int {
	rows := map[int][][2]int{}
	all := 0
	for _, b := range before {
		if !strings.HasPrefix(b.text, "saturated: channel ") {
			continue
		}
		m := saturatedLine.FindStringSubmatch(b.text)
		if m == nil {
			continue
		}
		channel, err := strconv.Atoi(m[1])
		if err != nil {
			continue
		}
		for part := range strings.SplitSeq(m[2], ", ") {
			a, b, _ := strings.Cut(part, " to ")
			from, err1 := strconv.Atoi(a)
			to, err2 := strconv.Atoi(b)
			if err1 != nil || err2 != nil || to < from || to >= math.MaxInt32 {
				continue
			}
			list := rows[channel-1]
			if all++; all > mostStated && len(list) > 0 {
				last := &list[len(list)-1]
				*last = [2]int{min(last[0], from), max(last[1], to+1)}
				continue
			}
			rows[channel-1] = append(list, [2]int{from, to + 1})
		}
	}
	return rows
}

// withStated joins to a mask the rows that the file calls saturated. Where no number stands, it was out of range; x are the channel's values.
func (r *reader) withStated(m drop.Mask, rows [][2]int, x []float64, s *settled) drop.Mask {
	var stated drop.Mask
	for _, k := range rows {
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
