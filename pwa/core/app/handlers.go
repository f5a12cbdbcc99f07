package app

// handlers is every command the page can send. Names are noun, dot, verb.
var handlers map[string]func(*App, *Answer) error

func init() {
	handlers = map[string]func(*App, *Answer) error{
		"open":     (*App).open,
		"go":       (*App).goTo,
		"digest":   (*App).digests,
		"prefs":    (*App).setPrefs,
		"said.end": (*App).endSaid,

		"page.print":   (*App).printed,
		"browser.keep": (*App).toldKeep,

		"device.renewed": (*App).renewed,
		"sync.request":   (*App).syncRequest,
		"sync.response":  (*App).syncResponse,
		"sync.state":     (*App).syncState,

		"person.save":   (*App).savePerson,
		"flags.save":    (*App).saveFlags,
		"flags.clear":   (*App).clearFlags,
		"conflict.keep": (*App).keepConflict,
		"same.join":     (*App).joinSame,
		"same.undo":     (*App).undoSame,
		"void":          (*App).void,
		"export.table":  (*App).exportTable,
		"export.ask":    (*App).askExport,
		"export.done":   (*App).exported,

		"invite.make": (*App).makeInvite,
		"invite.made": (*App).madeInvite,

		"work.begin":  (*App).beginWork,
		"work.before": (*App).sayBefore,
		"work.leave":  (*App).leaveWork,
		"work.start":  (*App).startTurn,
		"work.end":    (*App).endTurn,
		"work.stop":   (*App).stopTurn,
		"work.enter":  (*App).enterTurn,
		"work.set":    (*App).adjustTurn,
		"work.skip":   (*App).skipTurn,
		"work.feel":   (*App).goFeel,
		"work.finish": (*App).finishWork,
	}
	for do, handler := range testHandlers {
		handlers[do] = handler
	}
	for do, handler := range planHandlers {
		handlers[do] = handler
	}
	for do, handler := range practiceHandlers {
		handlers[do] = handler
	}
	for do, handler := range accessHandlers() {
		handlers[do] = handler
	}
}

// testHandlers are the commands of a running test.
var testHandlers = map[string]func(*App, *Answer) error{
	"trunk.prepare": (*App).prepareTrunk,
	"test.prepare":  (*App).prepareTest,
	"test.flip":     (*App).flipTest,
	"test.start":    (*App).startTrial,
	"test.stop":     (*App).stopTrial,
	"test.resume":   (*App).resumeTrial,
	"test.discard":  (*App).discardTrial,
	"test.because":  (*App).trialBecause,
	"test.rest":     (*App).endTestRest,
	"test.abandon":  (*App).abandonTest,
}

// planHandlers are the commands of a plan, and of what becomes of its exercises.
var planHandlers = map[string]func(*App, *Answer) error{
	"plan.set":     (*App).setDraft,
	"plan.pin":     (*App).pinDraft,
	"plan.undo":    (*App).undoDraft,
	"plan.remove":  (*App).removeDraft,
	"plan.accept":  (*App).acceptPlan,
	"plan.decline": (*App).declinePlan,
	"item.set":     (*App).setItem,
	"item.pin":     (*App).pinItem,
	"item.undo":    (*App).undoItem,

	"decide.keep":    (*App).keepDecision,
	"decide.decline": (*App).declineDecision,
	"decide.undo":    (*App).undoDecision,
	"decide.clear":   (*App).clearReferral,
}

// practiceHandlers are the commands about what the practice sets.
var practiceHandlers = map[string]func(*App, *Answer) error{
	"weights.add": (*App).addWeight,
	"noise.save":  (*App).saveNoise,
	"noise.auto":  (*App).autoNoise,
	"ladder.set":  (*App).setStep,
	"ladder.cues": (*App).setCues,
	"ladder.hide": (*App).hideStep,
	"ladder.move": (*App).moveStep,
	"ladder.ship": (*App).shipStep,
	"samples.add": (*App).addSample,
	"samples.own": (*App).useOwnSample,
}

// accessHandlers are the commands about who is let in.
func accessHandlers() map[string]func(*App, *Answer) error {
	return map[string]func(*App, *Answer) error{
		"passkey.has":     (*App).toldPasskeys,
		"passkey.ask":     (*App).askPasskey,
		"passkey.in":      (*App).inByPasskey,
		"passkey.asked":   (*App).askedPasskey,
		"passkey.said":    (*App).saidPasskey,
		"passkey.kept":    (*App).keptPasskey,
		"join.code":       (*App).joinCode,
		"join.over":       (*App).joinOver,
		"join.looked":     (*App).joinLooked,
		"join.do":         (*App).joinDo,
		"join.done":       (*App).joinDone,
		"join.back":       (*App).joinBack,
		"join.again":      (*App).joinAgainIn,
		"join.stop":       (*App).stopAsking,
		"knock.told":      (*App).toldKnocks,
		"knock.answer":    (*App).answerKnock,
		"knock.done":      (*App).answeredKnock,
		"roster.list":     (*App).askRoster,
		"roster.told":     (*App).toldRoster,
		"roster.done":     (*App).changedRoster,
		"phones.ask":      (*App).askEnd,
		"phones.end":      (*App).endPhone,
		"phones.off":      (*App).signOff,
		"phones.off_done": (*App).signedOff,
		"share.set":       (*App).setSharing,
		"staff.role":      (*App).setRole,
		"staff.out":       (*App).takeOut,
	}
}
