from django.urls import path

from workshop.quotes import public_views, views

app_name = "quotes"
urlpatterns = [
    path("cards/<int:pk>/quote/", views.quote, name="quote"),
    path("cards/<int:pk>/quote/send/", views.send, name="send"),
    path("quotes/<uuid:uid>/phoned/", views.phoned, name="phoned"),
    path("quotes/<uuid:uid>/take-back/", views.take_back, name="take_back"),
    path("questions/<uuid:uid>/reply/", views.reply, name="reply"),
    path("q/<str:token>/", public_views.go_ahead, name="go_ahead"),
    path("q/<str:token>/review/", public_views.review, name="review"),
    path("q/<str:token>/order/", public_views.order, name="order"),
    path("q/<str:token>/ask/", public_views.ask, name="ask"),
    path("q/<str:token>/receipt/", public_views.receipt, name="receipt"),
    path("q/<str:token>/paper.pdf", public_views.paper, name="paper"),
    path("q/<str:token>/photo/<uuid:uid>/", public_views.picture, name="picture"),
]
