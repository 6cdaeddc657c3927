package solve

// lists generates schedules of tasks on resources.
func (s *search) lists(_ *Model, _ []int, _ heads) {}
