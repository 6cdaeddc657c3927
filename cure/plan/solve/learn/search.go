package learn

// Brancher chooses what to try where conflicts have nothing to say.
type Brancher interface {
	// Choose gives an atom that is neither true nor false to try; ok is false where all
	// that matters is settled.
	Choose(e *Engine) (a Atom, ok bool)
}

// Outcome is what a search came to.
type Outcome uint8

// The outcomes.
const (
	Stopped   Outcome = iota // by its limit or its caller
	Solved                   // what matters is settled: read it off with Lo and Hi
	Refuted                  // there is no solution
	Unwelcome                // there is no solution in which the assumptions hold
)

// Search is how to go about it.
type Search struct {
	Brancher Brancher
	Assume   []Atom      // tried first, and never given up
	Limit    int64       // conflicts; 0: none
	Stop     func() bool // asked now and then
	Guided   bool        // by activity, from the start; else activity and Brancher take turns
	Plain    bool        // by Brancher alone
	Ease     int64       // conflicts of the first restart; 0: unit
}

const (
	unit   = 250  // conflicts of the shortest run between restarts
	fewest = 8000 // learnt clauses kept before any are forgotten
)

// Run searches for a solution. On Solved the values stand until the next call; decisions
// are undone by Back.
func (e *Engine) Run(s Search) Outcome {
	e.back(0)
	if e.bottom || !e.Settle() {
		return Refuted
	}
	if s.Stop != nil && s.Stop() {
		return Stopped
	}
	until := int64(0)
	if s.Limit > 0 {
		until = e.Conflicts + s.Limit
	}
	most := max(e.keep, len(e.clauses.head)/3-e.clauses.learnt/3)
	for run := 1; ; run++ {
		length := luby(run) * unit
		if s.Ease > 0 {
			length = luby(run) * s.Ease
		}
		guided := s.Guided || !s.Plain && run%2 == 0
		switch o := e.descend(&s, length, until, guided, &most); o {
		case again:
			e.back(0)
			e.atoms.trim()
		default:
			return o
		}
	}
}

// again asks for a restart.
const again Outcome = 255

// descend searches until a solution, a proof, a limit, or length conflicts.
func (e *Engine) descend(s *Search, length, until int64, guided bool, most *int) Outcome {
	for used := int64(0); ; {
		if !e.Propagate() {
			e.Conflicts++
			used++
			if e.back(e.clashLevel()); len(e.lim) == 0 {
				e.bottom = true
				return Refuted
			}
			if !e.learn() {
				return Refuted
			}
			if until > 0 && e.Conflicts >= until || s.Stop != nil && e.Conflicts&7 == 0 && s.Stop() {
				return Stopped
			}
			continue
		}
		if used >= length {
			return again
		}
		if e.clauses.learnt > *most {
			e.forget()
			*most += *most / 20
		}
		if n := len(e.lim); n < len(s.Assume) {
			a := s.Assume[n]
			if e.False(a) {
				return Unwelcome
			}
			e.level(len(e.atoms.popped))
			if !e.True(a) {
				e.push(a.B, a.V, why{kind: decided})
			}
			continue
		}
		popped := len(e.atoms.popped)
		a, ok := e.choose(s, guided)
		if !ok {
			return Solved
		}
		if e.Decisions++; s.Stop != nil && e.Decisions&31 == 0 && s.Stop() {
			return Stopped
		}
		e.level(popped)
		e.push(a.B, a.V, why{kind: decided})
	}
}

// choose takes the most active open atom, in the sense of the best solution so far, or
// asks the Brancher.
func (e *Engine) choose(s *Search, guided bool) (Atom, bool) {
	for guided {
		a, ok := e.atoms.take()
		if !ok {
			break
		}
		if e.True(a) || e.False(a) {
			continue
		}
		if best := e.saved[a.B/2]; best == Limit || best < a.V {
			return a.Not(), true
		}
		return a, true
	}
	return s.Brancher.Choose(e)
}

// learn turns the conflict into a clause and goes back to where it asserts something.
func (e *Engine) learn() bool {
	back, lbd := e.analyse()
	e.back(back)
	a := e.learnt[0]
	if len(e.learnt) == 1 {
		if !e.push(a.B, a.V, why{kind: decided}) {
			e.bottom = true
		}
		return !e.bottom
	}
	k := e.clauses.add(e.learnt, int32(lbd))
	e.watch(k)
	return e.push(a.B, a.V, why{k, 0, byClause})
}

// Back undoes all decisions.
func (e *Engine) Back() { e.back(0) }

// Random draws a number from 0 to n−1.
func (e *Engine) Random(n int) int {
	e.rng ^= e.rng << 13
	e.rng ^= e.rng >> 7
	e.rng ^= e.rng << 17
	return int(e.rng>>33) % n
}

// luby is the i-th term, from 1, of 1 1 2 1 1 2 4 1 1 2 1 1 2 4 8 …
func luby(i int) int64 {
	for k := 1; ; k++ {
		if i == 1<<k-1 {
			return 1 << (k - 1)
		}
		if i < 1<<k-1 {
			return luby(i - 1<<(k-1) + 1)
		}
	}
}

// Hinted is the value of a variable in the best solution, or Limit.
func (e *Engine) Hinted(x Var) int { return int(e.saved[x]) }
