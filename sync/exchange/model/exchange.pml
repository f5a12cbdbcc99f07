/*
 * The exchange between two phones and a server, small enough to try every run of it.
 *
 * Two phones write into one document and read each other's operations. The network loses,
 * repeats, delays and reorders without end; phones crash and lose what they had not yet stored;
 * the server is set back once to a backup; its rules change their mind about one operation. At
 * some moment the network becomes whole: what is under way still arrives, in any order, and
 * after a bounded number of requests the promises of rule X12 must hold.
 *
 * Numbers in brackets are rules of SPEC.md. A name in capitals breaks one of them, so that a
 * test can show that the checks notice:
 *
 *   SEND_FIRST       a request leaves before what it pushes is stored                  [X1]
 *   NO_IDEMPOTENCE   what was judged before is judged again                            [X3]
 *   TELL_ONCE        a refusal is told in one answer only                              [X4]
 *   NO_EPOCH         the server does not say that it was set back                      [X7]
 *   JUDGE_LATE       what was pushed to another epoch is judged                        [X7]
 *   NO_REWIND        a phone does not push again what a server that was set back lacks [X7]
 *   NO_WITHDRAWAL    what was refused before is pushed like anything else              [X8]
 *   ANSWER_FIRST     the server answers before its decision is durable                 [X12]
 *
 * Left out, because the simulation has them: clocks, shared identities, several documents, pages
 * that are cut, people who lose a document.
 *
 * An operation of phone i with number n is bit 2i+n-1 of a set. The content of an operation is
 * a bit: what is written under a number that was lost in a crash differs from what was there.
 */

#define PHONES 2
#ifndef MOST
#define MOST   1                        /* operations of phone 1; at most 2 */
#endif
#define FEW    1                        /* of phone 0 */
#define BIT(i, n) (1 << (2 * (i) + (n) - 1))
#define OWN(i) (3 << (2 * (i)))
#define DISPUTED BIT(1, 1)              /* the operation that rules may refuse */
#define NO_PAGE 9                       /* a place past every end */
#define MOST_ROUNDS 8                   /* requests of a phone once the network is whole */

typedef Request {
	bit isThere;
	byte epoch, from, through, content, withdrawn, after
}

typedef Response {
	bit isThere, isLast;                /* isLast: the phone has asked nothing since [X11] */
	byte epoch, have, content, refused; /* refused: verdicts, as a set */
	byte from, head, page, digest
}

typedef Phone {
	byte seq, durable;                  /* own operations: written, stored */
	byte acked, epoch, at;
	byte held;                          /* the other's operations */
	byte listed;                        /* own operations listed as refused */
	byte withdrawn, content;
	bit isAwaiting, isQuiet;
	byte rounds
}

typedef Server {
	byte epoch, n;
	byte have[PHONES], refused[PHONES], content[PHONES];
	byte log[4]                         /* accepted operations in order */
}

Phone phone[PHONES];
Request now_[PHONES], late[PHONES];     /* the last request, and one that is long on its way */
Response back[PHONES];
Server server, backup;
#ifdef ANSWER_FIRST
Server before;
#endif
bit isBackedUp, isSetBack, isWhole;
byte k, at, set, code, had;                /* of the step under way; 0 between steps */

inline copyServer(to, from) {
	to.epoch = from.epoch; to.n = from.n;
	to.have[0] = from.have[0]; to.have[1] = from.have[1];
	to.refused[0] = from.refused[0]; to.refused[1] = from.refused[1];
	to.content[0] = from.content[0]; to.content[1] = from.content[1];
	to.log[0] = from.log[0]; to.log[1] = from.log[1];
	to.log[2] = from.log[2]; to.log[3] = from.log[3]
}

inline clearServer(s) {
	s.epoch = 0; s.n = 0;
	s.have[0] = 0; s.have[1] = 0;
	s.refused[0] = 0; s.refused[1] = 0;
	s.content[0] = 0; s.content[1] = 0;
	s.log[0] = 0; s.log[1] = 0; s.log[2] = 0; s.log[3] = 0
}

/* accepted makes set the operations of the log past a place. */
inline accepted(past) {
	set = 0; at = past;
	do
	:: at < server.n -> set = set | server.log[at]; at++
	:: else -> break
	od;
	at = 0
}

/* A phone asks. All that it pushes is stored before the bytes leave [X1], and until it has
 * heard the server it pushes nothing. The request before may be overtaken, and come later. */
inline ask(i, isOvertaken) {
	if
	:: isOvertaken ->
		late[i].isThere = 1; late[i].epoch = now_[i].epoch;
		late[i].from = now_[i].from; late[i].through = now_[i].through;
		late[i].content = now_[i].content; late[i].withdrawn = now_[i].withdrawn;
		late[i].after = now_[i].after
	:: else
	fi;
	now_[i].isThere = 1;
	now_[i].epoch = phone[i].epoch; now_[i].from = phone[i].acked;
	now_[i].through = (phone[i].epoch == 0 -> phone[i].acked : phone[i].seq);
	now_[i].content = phone[i].content;
	now_[i].withdrawn = phone[i].withdrawn;
	now_[i].after = phone[i].at;
	back[i].isLast = 0;
	phone[i].isAwaiting = 1;
#ifndef SEND_FIRST
	phone[i].durable = phone[i].seq;
#endif
	if
	:: isWhole -> phone[i].rounds++; assert(phone[i].rounds <= MOST_ROUNDS)
	:: else
	fi
}

/* The server judges each operation by itself: a repeat changes nothing [X3], a refusal uses up
 * its number [X2], what the phone withdraws is refused [X8]. mind says what the rules think of
 * the disputed operation just now. */
inline judge(i, q, mind) {
	code = 0;                           /* newly refused */
	if
	:: q.from > server.have[i]          /* a gap [X14]: nothing is judged */
#ifndef JUDGE_LATE
	:: q.from <= server.have[i] && q.epoch != server.epoch
#endif
	:: else ->
		/* No two histories of one device in this model: a fork would be a fault [X5]. */
		k = q.from + 1;
		do
		:: k > q.through -> break
#ifndef NO_IDEMPOTENCE
		:: k <= q.through && k <= server.have[i] ->
			assert((q.content & BIT(i, k)) == (server.content[i] & BIT(i, k)));
			k++
#endif
		:: else ->
			if
			:: (q.withdrawn & BIT(i, k)) || (BIT(i, k) == DISPUTED && mind) ->
				code = code | BIT(i, k)
			:: else ->
				accepted(0);
				assert(!(set & BIT(i, k)));  /* nothing is taken in twice */
				set = 0;
				server.log[server.n] = BIT(i, k); server.n++
			fi;
			server.content[i] = server.content[i] | (q.content & BIT(i, k));
			server.have[i] = k;
			k++
		od
	fi;
	server.refused[i] = server.refused[i] | code;
	k = 0
}

/* The answer: verdicts until they were heard [X4], news with a digest [X10], and a page without
 * the asker's own operations. To another epoch no page is sent [X7]. */
inline answer(i, q, last) {
	back[i].isThere = 1; back[i].isLast = last;
	back[i].epoch = server.epoch;
	back[i].have = server.have[i]; back[i].content = server.content[i];
#ifdef TELL_ONCE
	back[i].refused = code;
#else
	back[i].refused = server.refused[i];
#endif
	accepted(0);
	back[i].digest = set; back[i].head = server.n;
	back[i].from = NO_PAGE; back[i].page = 0;
	if
	:: q.epoch == server.epoch && q.after <= server.n ->
		accepted(q.after);
		back[i].from = q.after;
		back[i].page = set & ~OWN(i)
	:: else
	fi;
	set = 0
}

/* The server takes in a request, decides, makes that durable, and only then answers. */
inline serve(i, q, last, mind, isRepeated) {
	had = server.n;
	judge(i, q, mind);
	if
	:: server.n != had -> phone[0].isQuiet = 0; phone[1].isQuiet = 0
	:: else
	fi;
	had = 0;
	answer(i, q, last);
	code = 0;
	if
	:: isRepeated
	:: else -> forgetRequest(q)
	fi
}

/* A phone learns that the server was set back: cursors start anew [X7]. */
inline meet(i) {
	code = 0;
	if
	:: phone[i].epoch != back[i].epoch ->
		code = (phone[i].epoch != 0);
		phone[i].epoch = back[i].epoch;
		if
		:: code -> phone[i].at = 0
		:: else
		fi
	:: else
	fi
}

/* A phone hears how far the server judged it [X4], or goes back to what the server has [X7] and
 * withdraws what was refused to it [X8]. */
inline acknowledge(i) {
	assert(back[i].have <= phone[i].seq); /* the server knows no more of it than itself [X5] */
	k = 1;
	do
	:: k > back[i].have -> break
	:: else ->
		assert((phone[i].content & BIT(i, k)) == (back[i].content & BIT(i, k)));
		k++
	od;
	if
#ifdef NO_REWIND
	:: back[i].have < phone[i].acked
#else
	:: back[i].have < phone[i].acked ->
		phone[i].acked = back[i].have;
#ifndef NO_WITHDRAWAL
		k = back[i].have + 1;
		do
		:: k > MOST -> break
		:: else ->
			phone[i].withdrawn = phone[i].withdrawn | (phone[i].listed & BIT(i, k));
			k++
		od
#endif
#endif
	:: else ->
		k = phone[i].acked + 1;
		do
		:: k > back[i].have -> break
		:: else ->
			if
			:: (phone[i].withdrawn & BIT(i, k)) && !(back[i].refused & BIT(i, k)) ->
				phone[i].listed = phone[i].listed & ~BIT(i, k)  /* it had arrived before */
			:: (back[i].refused & BIT(i, k)) ->
				phone[i].listed = phone[i].listed | BIT(i, k)
			:: else
			fi;
			phone[i].withdrawn = phone[i].withdrawn & ~BIT(i, k);
			k++
		od;
		phone[i].acked = back[i].have
	fi;
	k = 0
}

/* own makes set the operations of phone i that are in its document. */
inline own(i) {
	set = (((1 << phone[i].seq) - 1) << (2 * i)) & ~phone[i].listed
}

/* A phone takes in the answer to its last request, and to no other [X11]. What is taken in is
 * stored in one go: a crash before that is an answer that was lost [X13]. */
inline hear(i, isRepeated) {
	if
	:: !back[i].isLast || !phone[i].isAwaiting
	:: else ->
		phone[i].isAwaiting = 0;
		meet(i);
		acknowledge(i);
		if
		:: !code && back[i].from <= phone[i].at ->
			phone[i].held = phone[i].held | back[i].page;
			phone[i].at = (phone[i].at > back[i].head -> phone[i].at : back[i].head)
		:: else
		fi;
		own(i);
		if
		:: !code && (set | phone[i].held) == back[i].digest -> /* it has all of it [X10] */
			phone[i].at = (phone[i].at > back[i].head -> phone[i].at : back[i].head)
		:: else
		fi;
		phone[i].isQuiet = isWhole && !code && phone[i].acked == phone[i].seq &&
			phone[i].at >= server.n && back[i].epoch == server.epoch;
		phone[i].durable = phone[i].seq;
		code = 0; set = 0
	fi;
	if
	:: isRepeated
	:: else -> forgetAnswer(i)
	fi
}

inline forgetAnswer(i) {
	back[i].isThere = 0; back[i].isLast = 0; back[i].epoch = 0; back[i].have = 0;
	back[i].content = 0; back[i].refused = 0; back[i].from = 0; back[i].head = 0;
	back[i].page = 0; back[i].digest = 0
}

inline forgetRequest(q) {
	q.isThere = 0; q.epoch = 0; q.from = 0; q.through = 0; q.content = 0; q.withdrawn = 0;
	q.after = 0
}

/* A crash takes what was not stored. What is written under its number next is another thing; it
 * matters only where somebody may have taken the first one in. */
inline crash(i) {
	k = phone[i].durable + 1;
	do
	:: k > phone[i].seq -> break
	:: else ->
		if
		:: now_[i].through >= k || late[i].through >= k || server.have[i] >= k ||
			backup.have[i] >= k -> phone[i].content = phone[i].content ^ BIT(i, k)
		:: else
		fi;
		k++
	od;
	k = 0;
	phone[i].seq = phone[i].durable;
	phone[i].isAwaiting = 0
}

inline setBack() {
	had = server.epoch;
	copyServer(server, backup);
#ifdef NO_EPOCH
	server.epoch = had;
#else
	server.epoch = had + 1;
#endif
	had = 0; isSetBack = 1;
	clearServer(backup)
}

/* What must hold at the end [X12]: each operation is with the server and every reader, or listed
 * as refused by the phone that made it, and never both. A reader may keep what a server that was
 * set back refused later. */
inline check(i) {
	assert(phone[i].acked == phone[i].seq && phone[i].durable == phone[i].seq);
	accepted(0);
	assert(!(set & phone[i].listed));
	assert(((set & OWN(i)) | phone[i].listed) == (((1 << phone[i].seq) - 1) << (2 * i)));
	assert((phone[i].held & ~phone[1 - i].listed) == (set & ~OWN(i)));
	set = 0
}

/* Phone 0 sits beside the server: its messages arrive at once, but may be lost. It keeps the
 * number of states within what every run of the tests can visit. */
#define NEAR(i) \
	:: !isWhole && phone[i].seq < FEW -> phone[i].seq++ \
	:: !isWhole && phone[i].durable < phone[i].seq -> d_step { crash(i) } \
	:: !phone[i].isQuiet -> d_step { ask(i, 0); serve(i, now_[i], 1, 0, 0); hear(i, 0) } \
	:: !isWhole -> d_step { ask(i, 0); serve(i, now_[i], 1, 0, 0); forgetAnswer(i); crash(i) }

/* What can happen to phone 1 and its messages at any moment. */
#define FAR(i) \
	:: !isWhole && phone[i].seq < MOST -> phone[i].seq++ \
	:: !isWhole && phone[i].durable < phone[i].seq -> phone[i].durable = phone[i].seq \
	:: !isWhole && (phone[i].isAwaiting || phone[i].durable < phone[i].seq) -> \
		d_step { crash(i) } \
	:: !isWhole -> d_step { ask(i, 0) } \
	:: !isWhole && now_[i].isThere -> d_step { ask(i, 1) } \
	:: isWhole && !phone[i].isQuiet && !now_[i].isThere && !back[i].isThere -> \
		d_step { ask(i, 0) } \
	:: !isWhole && now_[i].isThere -> d_step { forgetRequest(now_[i]) } \
	:: !isWhole && back[i].isThere -> d_step { forgetAnswer(i) } \
	:: !isWhole && back[i].isThere -> d_step { hear(i, 1) } \
	:: back[i].isThere -> d_step { hear(i, 0) } \
	REQUEST(i, now_[i], phone[i].isAwaiting) \
	REQUEST(i, late[i], 0)

/* A request arrives, once or again; the rules think one way or the other. */
#define REQUEST(i, q, last) \
	:: q.isThere -> d_step { serve(i, q, last, 0, 0) } \
	:: q.isThere -> d_step { serve(i, q, last, 1, 0) } \
	:: q.isThere && !isWhole -> d_step { serve(i, q, last, 0, 1) } \
	:: q.isThere && !isWhole -> d_step { serve(i, q, last, 1, 1) } \
	POWER(i, q, last)

#ifdef ANSWER_FIRST
#define POWER(i, q, last) \
	:: q.isThere && !isWhole -> d_step { \
		copyServer(before, server); serve(i, q, last, 0, 0); copyServer(server, before); \
		clearServer(before) }
#else
#define POWER(i, q, last)
#endif

#define IS_STILL(i) (phone[i].isQuiet && !now_[i].isThere && !late[i].isThere && !back[i].isThere)

init {
	server.epoch = 1;
	do
	NEAR(0)
	FAR(1)
	:: !isWhole && !isBackedUp -> d_step { copyServer(backup, server); isBackedUp = 1 }
	:: !isWhole && isBackedUp && !isSetBack -> d_step { setBack() }
	:: !isWhole -> isWhole = 1
	:: isWhole && IS_STILL(0) && IS_STILL(1) -> break
	od;
	skip;
	d_step { check(0); check(1) }
}
