package store

import (
	"errors"
	"testing"

	"evenhold/internal/sessions"
	"evenhold/sync/record"
	"evenhold/sync/wire"
)

// TestPush_RepeatsChangeNothing pushes the same operations three times, split otherwise and in
// another order, as after lost answers: the file stays the same byte for byte.
func TestPush_RepeatsChangeNothing(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p := newPen(7)
	p.write(t, "a", "b", "forbidden", "d", "e", "f", "g", "h", "i")
	push := func(first, last int) Pushed {
		t.Helper()
		got, err := s.Push(p.request(first, last), m, allow, noon)
		if err != nil || got.Problem != "" {
			t.Fatalf("push %d to %d: %v %q", first, last, err, got.Problem)
		}
		return got
	}
	push(1, 5)
	push(6, 9)
	once := dump(t, s)
	for _, part := range [][2]int{{1, 5}, {1, 5}, {1, 9}, {6, 9}, {3, 7}, {1, 1}, {9, 9}, {2, 4}} {
		again := push(part[0], part[1])
		if len(again.Accepted) != 0 || len(again.Changed) != 0 {
			t.Errorf("push %v again: accepted %d, changed %v", part, len(again.Accepted),
				again.Changed)
		}
		if part[0] <= 3 && (len(again.State.Refused) != 1 || again.State.Refused[0].Seq != 3) {
			t.Errorf("push %v again: verdicts %v, want the one for 3", part, again.State.Refused)
		}
	}
	if after := dump(t, s); after != once {
		t.Errorf("repeats left:\n%s\nwant:\n%s", after, once)
	}
}

// TestPush_OneBadApple: one refused operation among a hundred harms none of the others.
func TestPush_OneBadApple(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p := newPen(7)
	for i := range 100 {
		text := "fine"
		if i == 41 {
			text = "forbidden"
		}
		p.write(t, text)
	}
	got, err := s.Push(p.request(1, 100), m, allow, noon)
	if err != nil || got.Problem != "" {
		t.Fatal(err, got.Problem)
	}
	want := wire.Verdict{Seq: 42, Code: wire.CodeForbidden}
	if len(got.State.Refused) != 1 || got.State.Refused[0] != want || got.State.Have != 100 {
		t.Errorf("verdicts %v, have %d", got.State.Refused, got.State.Have)
	}
	doc, err := s.Document(t.Context(), p.doc.ID())
	if err != nil || doc.Len() != 99 {
		t.Errorf("stored %d operations, %v; want 99", doc.Len(), err)
	}
}

// TestPush_DigestIsTheDocuments: the digest kept beside a document is the one that the merge
// works out from its operations, and its head counts them.
func TestPush_DigestIsTheDocuments(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p := newPen(7)
	p.write(t, "a", "b", "c", "d")
	for _, part := range [][2]int{{1, 1}, {2, 4}} {
		if _, err := s.Push(p.request(part[0], part[1]), m, allow, noon); err != nil {
			t.Fatal(err)
		}
	}
	news, err := s.Pull(t.Context(), wire.Request{}, m)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range news.Changed {
		doc, err := s.Document(t.Context(), c.Doc)
		if err != nil || doc.Digest() != c.Digest || uint64(doc.Len()) != c.Head {
			t.Errorf("document %s: %v, digest or head differ", c.Doc, err)
		}
	}
	if len(news.Changed) != 2 { // the practice's and this one
		t.Errorf("%d documents changed, want 2", len(news.Changed))
	}
}

// TestPush_Problems: what a push as a whole can be refused for; nothing of it is stored.
func TestPush_Problems(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	p, twin := newPen(7), newPen(7)
	p.write(t, "a", "b", "c")
	twin.write(t, "a", "other", "c")
	if _, err := s.Push(p.request(1, 2), m, allow, noon); err != nil {
		t.Fatal(err)
	}
	foreign := newPen(8)
	foreign.write(t, "x")
	tests := []struct {
		name string
		q    wire.Request
		want string
	}{
		{"a copy of the phone", twin.request(3, 3), wire.CodeForked},
		{"something is missing between", func() wire.Request {
			p.write(t, "d")
			return p.request(4, 4)
		}(), wire.CodeGap},
		{"another device's", foreign.request(1, 1), wire.CodeDevice},
	}
	for _, tt := range tests {
		got, err := s.Push(tt.q, m, allow, noon)
		if err != nil || got.Problem != tt.want || len(got.Accepted) != 0 || got.State.Have != 2 {
			t.Errorf("%s: problem %q, %v, have %d; want %q", tt.name, got.Problem, err,
				got.State.Have, tt.want)
		}
	}
	doc, err := s.Document(t.Context(), p.doc.ID())
	if err != nil || doc.Len() != 2 {
		t.Errorf("stored %d operations, %v; want 2", doc.Len(), err)
	}
}

// TestPush_RevokedDevice: a device shut out between its token and its push stores nothing.
func TestPush_RevokedDevice(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	if err := s.Revoke(m, noon); err != nil {
		t.Fatal(err)
	}
	p := newPen(7)
	p.write(t, "a")
	if _, err := s.Push(p.request(1, 1), m, allow, noon); !errors.Is(err, ErrNotFound) {
		t.Errorf("Push: %v, want %v", err, ErrNotFound)
	}
	if _, err := s.MemberByDevice(t.Context(), 7); !errors.Is(err, ErrNotFound) {
		t.Errorf("MemberByDevice: %v, want %v", err, ErrNotFound)
	}
}

// TestPush_DaysShare: beyond a day's share nothing is taken until the next day (UTC); nothing
// is refused for good, so the phone keeps its queue.
func TestPush_DaysShare(t *testing.T) {
	s := openNew(t)
	m := enrol(t, s, sessions.Owner, record.ID{}, 7)
	_, err := s.writer.Exec("UPDATE devices SET day = ?, day_count = ?", noon/dayMS, MaxDayOps-2)
	if err != nil {
		t.Fatal(err)
	}
	p := newPen(7)
	p.write(t, "a", "b", "c")
	before := dump(t, s)
	if _, err := s.Push(p.request(1, 3), m, allow, noon); !errors.Is(err, ErrLimit) {
		t.Fatalf("Push: %v, want %v", err, ErrLimit)
	}
	if after := dump(t, s); after != before {
		t.Error("a push over the limit left something behind")
	}
	if _, err := s.Push(p.request(1, 2), m, allow, noon); err != nil {
		t.Errorf("up to the limit: %v", err)
	}
	if _, err := s.Push(p.request(3, 3), m, allow, noon+dayMS); err != nil {
		t.Errorf("the next day: %v", err)
	}
}

// TestPull_Pages: pages are bounded, join without gap or overlap, and leave the asker's own
// operations out.
func TestPull_Pages(t *testing.T) {
	s := openNew(t)
	author := enrol(t, s, sessions.Owner, record.ID{}, 7)
	reader := enrol(t, s, sessions.Coach, record.ID{}, 9)
	p := newPen(7)
	for range 2500 {
		p.write(t, "x")
	}
	for at := 1; at <= 2500; at += 500 {
		if _, err := s.Push(p.request(at, at+499), author, allow, noon); err != nil {
			t.Fatal(err)
		}
	}
	got := record.NewDoc(p.doc.ID())
	q := wire.Request{Pulls: []wire.Pull{{Doc: p.doc.ID()}}}
	rounds := 0
	for q.Pulls[0].After < 2500 {
		news, err := s.Pull(t.Context(), q, reader)
		if err != nil || len(news.Pages) != 1 {
			t.Fatal(err, len(news.Pages))
		}
		page := news.Pages[0]
		if page.From != q.Pulls[0].After || page.Head != 2500 || len(page.Ops) > wire.MaxPageOps ||
			page.To == page.From {
			t.Fatalf("page from %d to %d of %d", page.From, page.To, page.Head)
		}
		for _, op := range page.Ops {
			if isNew, err := got.Apply(op); err != nil || !isNew {
				t.Fatalf("operation %s: new %v, %v", op.ID(), isNew, err)
			}
		}
		q.Pulls[0].After = page.To
		rounds++
	}
	if got.Digest() != p.doc.Digest() || rounds < 2 {
		t.Errorf("after %d rounds the documents differ", rounds)
	}
	news, err := s.Pull(t.Context(), wire.Request{Pulls: []wire.Pull{{Doc: p.doc.ID()}}}, author)
	if err != nil || len(news.Pages[0].Ops) != 0 || news.Pages[0].To != 2500 {
		t.Errorf("own operations came back: %d of them, %v", len(news.Pages[0].Ops), err)
	}
}
